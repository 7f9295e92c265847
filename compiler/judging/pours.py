"""What the rules of casting see: how castings froze and print, as worked out beforehand.

Whoever works it out (the rooms ``casting`` and ``printing``) sets ``Piece.pours`` and ``Piece.prints``;
lengths mm, in the piece's own frame, times s."""

from __future__ import annotations

from dataclasses import dataclass

from ..measures.kinds import Floats
from .figure_rule import Reading


@dataclass(frozen=True, eq=False)
class Pour:
    """One casting of one alloy. ``hot``: liquid cut off from its feed (how much later it froze, as a
    share; mm3 of it). ``unfed``: bodies that no sprue reaches (mm3). ``thin``: sprues that froze before
    what they feed (how much before, as a share; the thickness that would do, mm). ``slow``: walls that
    metal comes to late (arrival over the time it runs; that time, s). ``room``: how many of them the
    flask takes; ``feature`` is one of its own."""

    called: str
    feature: int
    hot: tuple[Reading, ...]
    unfed: tuple[Reading, ...]
    thin: tuple[Reading, ...]
    slow: tuple[Reading, ...]
    room: int


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
    islands: tuple[Reading, ...]
    unheld: tuple[Reading, ...]
    cups: tuple[Reading, ...]
    fine: tuple[Reading, ...]
    first: float | None
    room: float
