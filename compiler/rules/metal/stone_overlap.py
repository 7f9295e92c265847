"""stone-overlap: stones that would stand in one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import above, place
from ...judging.remedies import apart_from, farther
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    stones = piece.stones
    widths = {(gap.first, gap.second): gap.width for gap in piece.gaps}
    room = piece.bound("crowded-stones", "cast")
    for first, second, volume, at in piece.stone_measures.overlaps:
        feature = int(max(stones.feature[first], stones.feature[second]))
        bound = piece.bound("stone-overlap", "most", feature)
        # What they share is no deeper than a cube of it.
        lack = room - widths.get((first, second), -(volume ** (1 / 3)))
        if above(volume, bound):
            yield Verdict(
                "two stones stand in one another",
                feature,
                f"stones {first + 1} and {second + 1} share {volume:.2g} mm3",
                f"{bound:g} mm3",
                apart_from(piece, first, second, lack),
                volume,
                bound,
                keys=("every", "number", "radius", "fit"),
                place=place(at),
                mend=farther(piece, first, second, lack),
            )
