"""Prongs too short to push over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.grips import PRONG_RISE
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _of_stone(_: Piece, limit: Bound, reading: Reading) -> Bound:
    return limit * reading.of.width


check = figure_check(
    "short-prong", LEAST,
    Test(
        PRONG_RISE,
        (
            Tier("spare", "this prong is too short to push over", Level.WARNING),
            Tier("past-stone", "this prong is short for so wide a stone", Level.HINT, _of_stone),
        ),
        "make it {more} longer",
        mend="rise",
    ),
)  # fmt: skip
