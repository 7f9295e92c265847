"""Prongs too thick for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.grips import PRONG_WIRE, of_usual, usual_shown

check = figure_check(
    "thick-prong", MOST,
    Test(
        PRONG_WIRE,
        (
            Tier("most", "this prong is thick for its stone", bound=of_usual, more=usual_shown),
        ),
        "take thinner wire: it is hard to bend and hides the stone",
        mend="wire",
    ),
)  # fmt: skip
