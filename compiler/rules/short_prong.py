"""Prongs too short to push over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.laid import crown_of
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    spare, part = piece.bound("short-prong", "spare"), piece.bound("short-prong", "past-stone")
    for grip in piece.grips:
        if not grip.bite > 0:
            continue
        rise = grip.tip - crown_of(piece.stones.of(grip.stone))
        wanted = part * grip.width
        if below(rise, spare) or below(rise, wanted):
            short = below(rise, spare)
            bound = spare if short else wanted
            yield Finding(
                "this prong is too short to push over"
                if short
                else "this prong is short for so wide a stone",
                grip.feature,
                f"{mm(rise)} above the table",
                least(mm(bound)),
                f"make it {rounded_up(max(spare, wanted) - rise)} longer",
                rise,
                bound,
                key="long",
                keys=("rise",),
                place=place(grip.spot),
                level=Level.WARNING if short else Level.NOTE,
                mend=Mend("rise", rounded_up(max(spare, wanted)), "least"),
            )


RULE = Rule(
    "short-prong",
    "A prong is too short to push over the stone.",
    "plan",
    Level.WARNING,
    "The tip is bent over the crown and then trimmed; without spare length it ends on the "
    "slope "
    "and the stone can lift out.",
    "Let it rise 0.3 to 0.6 mm above the table, more on large stones.",
    "common practice, no source; a tenth of the stone: GE gemwares.com (production notes page)",
    _check,
)
