"""Prongs too short to push over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.grips import PRONG_RISE
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _of_stone(_: Piece, limit: Bound, reading: Reading) -> Bound:
    return limit * reading.of.width


RULE = figure_rule(
    "short-prong", "A prong is too short to push over the stone.", Level.WARNING, LEAST,
    Test(
        PRONG_RISE,
        (
            Tier("spare", "this prong is too short to push over", Level.WARNING),
            Tier("past-stone", "this prong is short for so wide a stone", Level.HINT, _of_stone),
        ),
        "make it {more} longer",
        mend="rise",
    ),
    why="The tip is bent over the crown and then trimmed; without spare length it ends on the "
    "slope "
    "and the stone can lift out.",
    remedy="Let it rise 0.3 to 0.6 mm above the table, more on large stones.",
    source="common practice, no source; a tenth of the stone: GE gemwares.com (production notes page)",
)  # fmt: skip
