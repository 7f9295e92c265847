"""The door to what is measured on metal: a check before metal never loads what lies behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .measured import Measured
    from .piece import Piece

SAME = 0.03  # mm, a wall this near to a stated figure is that wall
SMALL_WALL = 0.05  # mm2 of both faces; less is a crumb where two cuts meet
SMALL_GAP = 0.1  # mm2 of both sides together; less is the corner where two faces meet


def measured(piece: Piece) -> Measured:
    """The measures of a piece, kept with it; see measured.py."""
    from .measured import measured as made

    return made(piece)


def named(piece: Piece, feature: int) -> str:
    """The name of the user's own line that made a feature."""
    call = piece.call(feature)
    return call.name.split(".")[0] if call.trail else call.name
