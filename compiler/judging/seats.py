"""Which metal a seat is cut into. It may be other metal than the stone's bed: the prong's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..bench.feature import Feature

if TYPE_CHECKING:
    from .beds import Bed
    from .piece import Piece


def cut_into(piece: Piece, seat: int, bed: Bed) -> bool:
    """Whether the seat of a line is cut into the body of this bed."""
    into = piece.call(seat).get("in")
    if not isinstance(into, Feature) or into.body is None:
        return True
    return into.body == piece.features[bed.body].body
