"""Stones too far apart for the prong they share."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


EVENED = 0.01  # mm, what is left over of a row evened out along its line


def _check(piece: Piece) -> Iterator[Verdict]:
    limit = piece.bound("spread-stones", "shared-prong")
    for gap in piece.gaps:
        if gap.shares and above(gap.width, limit + EVENED):
            yield Verdict(
                "two stones stand far apart for a prong they share",
                gap.feature,
                f"{mm(gap.width)} apart",
                most(mm(limit)),
                "bring them closer, or give each its own prongs",
                gap.width,
                limit,
                key="every",
                keys=("every", "fit", "number", "radius"),
                place=place(gap.place),
            )


RULE = Rule(
    "spread-stones",
    "Stones stand further apart than a shared prong likes.",
    "plan",
    Level.HINT,
    "A prong between two stones lies over each girdle by less the wider the gap, and light "
    "metal shows between the stones.",
    "Bring the stones closer, take thicker prong wire, or give each stone its own prongs.",
    "common practice, no source",
    _check,
)
