"""Prongs that rise too high."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.laid import crown_of
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    spare, part = piece.bound("tall-prong", "spare"), piece.bound("short-prong", "past-stone")
    for grip in piece.grips:
        if not grip.bite > 0:
            continue
        rise = grip.tip - crown_of(piece.stones.of(grip.stone))
        limit = max(spare, 1.5 * part * grip.width)
        if above(rise, limit):
            yield Finding(
                "this prong rises high above its stone",
                grip.feature,
                f"{mm(rise)} above the table",
                most(mm(limit)),
                "make it shorter: the rest is filed off",
                rise,
                limit,
                key="long",
                keys=("rise",),
                place=place(grip.spot),
                mend=Mend("rise", rounded_down(limit), "most"),
            )


RULE = Rule(
    "tall-prong",
    "A prong rises too high above its stone.",
    "plan",
    Level.NOTE,
    "Spare length above what is bent over is cut off and lost, and long thin tips bend or "
    "break "
    "in the wax and in the flask.",
    "Let it rise 0.3 to 0.6 mm above the table, more on large stones.",
    "common practice, no source",
    _check,
)
