"""Ring sizes that fit no finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, below, mm, place
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for feature in piece.rings:
        found = feature.look("inside")
        if found is None:
            continue
        inside = float(found.value)
        low = piece.bound("odd-finger-size", "least", feature)
        high = piece.bound("odd-finger-size", "most", feature)
        if below(inside, low) or above(inside, high):
            yield Verdict(
                "this ring fits hardly any finger",
                feature.index,
                f"{mm(inside)} inside",
                f"from {mm(low)} to {mm(high)}",
                "check the size and its scale",
                inside,
                low if inside < low else high,
                key="inside",
                keys=("inside", "finger"),
                place=place(feature.frames[0, :, 3]),
            )
