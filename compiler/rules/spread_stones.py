"""Stones too far apart for the prong they share."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


EVENED = 0.01  # mm, what is left over of a row evened out along its line


def check(piece: Piece) -> Iterator[Verdict]:
    usual, share, fine = (
        piece.bound("spread-stones", what) for what in ("shared-prong", "of-wire", "from-wire")
    )
    held = {(grip.stone, grip.rod): grip.wire for grip in piece.grips}
    for gap in piece.gaps:
        if not gap.shares or not above(gap.width, usual + EVENED):
            continue
        wires = [
            wire for (stone, rod), wire in held.items() if stone == gap.first and (gap.second, rod) in held
        ]
        more = share * (min(wires) - fine) if wires else 0.0
        limit = usual + more if more > 0 else usual
        if above(gap.width, limit + EVENED):
            yield Verdict(
                "two stones stand far apart for a prong they share",
                gap.feature,
                f"{mm(gap.width)} apart",
                most(mm(limit)),
                "bring them closer, take thicker prong wire, or give each its own prongs",
                gap.width,
                limit,
                key="every",
                keys=("every", "fit", "number", "radius"),
                place=place(gap.place),
            )
