"""Walls too thin to cast, as the text states them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.stated import Stated, stated_of
from ..judging.walls import thin_walls
from .model import Finding, Level, Mend, Rule
from .shown import below, least, mm, place, rounded_up

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for stated in stated_of(piece):
        what = "hollow-pendant" if stated.shell else "least"
        floor = piece.bound("thin-wall", what, stated.feature)
        advised = piece.bound("thin-wall", "advised", stated.feature)
        if stated.feature in piece.cups or piece.within(stated.feature, "vee-prong"):
            continue
        if below(stated.thick, floor):
            yield _found(piece, stated, f"{stated.what} is thin", floor, Level.WARNING)
        elif not stated.shell and below(stated.thick, advised):
            message = f"{stated.what} is on the thin side"
            yield _found(piece, stated, message, advised, Level.NOTE)


def _found(piece: Piece, stated: Stated, message: str, bound: float, level: Level) -> Finding:
    mend = None
    if stated.key not in ("size", "inside"):
        mend = Mend(stated.key, rounded_up(bound), "least")
    return Finding(
        message, stated.feature, mm(stated.thick),
        f"{least(mm(bound))} in {piece.family(stated.feature)}",
        f"make it {rounded_up(bound)}", stated.thick, bound, key=stated.key,
        keys=(stated.key, "wall", "thick", "height"),
        place=place(piece.features[stated.feature].frames[0, :, 3]), level=level, mend=mend,
    )  # fmt: skip


RULE = Rule(
    "thin-wall",
    "A wall is too thin to cast and finish.",
    "plan",
    Level.WARNING,
    "Thin metal freezes before the mould is full, and finishing takes up to a quarter of a "
    "millimetre off it.",
    "Make it 0.8 mm or more; 1 mm is safe for most pieces.",
    "GE gemwares.com (production notes page); advised: MJ misterjewel.com (low trust) and "
    "common practice, no source",
    _check,
    thin_walls,
)
