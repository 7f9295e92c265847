"""Prongs that rise too high."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.grips import PRONG_SPARE
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _allowed(piece: Piece, spare: Bound, reading: Reading) -> Bound:
    return max(spare, piece.bound("short-prong", "past-stone") * (1.5 * reading.of.width))


RULE = figure_rule(
    "tall-prong", "A prong rises too high above its stone.", Level.HINT, MOST,
    Test(
        PRONG_SPARE,
        (
            Tier("spare", "this prong rises high above its stone", bound=_allowed),
        ),
        "make it shorter: the rest is filed off",
        mend="rise",
    ),
    why="Spare length above what is bent over is cut off and lost, and long thin tips bend or "
    "break "
    "in the wax and in the flask.",
    remedy="Let it rise 0.3 to 0.6 mm above the table, more on large stones.",
    source="common practice, no source",
)  # fmt: skip
