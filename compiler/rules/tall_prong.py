"""Prongs that rise too high."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.grips import PRONG_SPARE

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _allowed(piece: Piece, spare: Bound, reading: Reading) -> Bound:
    return max(spare, piece.bound("short-prong", "past-stone") * (1.5 * reading.of.width))


check = figure_check(
    "tall-prong", MOST,
    Test(
        PRONG_SPARE,
        (
            Tier("spare", "this prong rises high above its stone", bound=_allowed),
        ),
        "make it shorter: the rest is filed off",
        mend="rise",
    ),
)  # fmt: skip
