"""What the rules of printing see: how each casting of a piece prints, as planned beforehand.

Whoever plans it (the room ``printing``) sets ``Piece.prints``; lengths mm, in the piece's own frame.
"""

from __future__ import annotations

from ...lang.lean import dataclass
from ..measures.kinds import Floats
from .pours import Place


@dataclass(frozen=True, eq=False)
class Print:
    """One casting of one metal on the printer. ``islands`` that no prop holds (one each; their layer),
    ``unheld`` faces that hang out all the same (mm2; layer), ``cups`` (mm2; layer), what is under a pixel
    wide (``fine``: pixels; layer). Layers count from 1, as the printer's.
    ``first`` mm2 of the first layer where it stands on the plate, None on props. ``room``: its size over
    that of the printer, at most. ``feature`` is one of its own, ``middle`` lies in it."""

    called: str
    feature: int
    middle: Floats
    islands: tuple[Place, ...]
    unheld: tuple[Place, ...]
    cups: tuple[Place, ...]
    fine: tuple[Place, ...]
    first: float | None
    room: float
