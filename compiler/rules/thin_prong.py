"""Prongs too thin for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.grips import PRONG_WIRE, of_usual, usual_shown

check = figure_check(
    "thin-prong", LEAST,
    Test(
        PRONG_WIRE,
        (
            Tier("least", "this prong is too thin"),
            Tier("usual", "this prong is thin for its stone", bound=of_usual, more=usual_shown),
        ),
        "take wire of {value}",
        mend="wire",
    ),
)  # fmt: skip
