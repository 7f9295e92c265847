"""Prongs too thick for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.limits import prong_wire
from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for grip in piece.grips:
        usual = prong_wire(grip.width, piece.family(grip.feature), grip.count)
        limit = usual * piece.bound("thick-prong", "most", grip.feature)
        if above(grip.wire, limit):
            yield Finding(
                "this prong is thick for its stone",
                grip.feature,
                mm(grip.wire),
                f"{most(mm(limit))} for a stone of {mm(grip.width)}; usual {mm(usual)}",
                "take thinner wire: it is hard to bend and hides the stone",
                grip.wire,
                limit,
                key="across",
                keys=("wire",),
                place=place(grip.spot),
                mend=Mend("across", rounded_down(limit), "most"),
            )


RULE = Rule(
    "thick-prong",
    "A prong is too thick for its stone.",
    "plan",
    Level.NOTE,
    "Thick wire takes force to push over, which the stone feels, and it covers a small stone.",
    "Take thinner wire.",
    "house choice, no source, from the usual wire by stone (common practice, no source)",
    _check,
)
