"""Bezel walls too thick to rub over."""

from __future__ import annotations

from ..judging.bezels import BEZEL_WALL
from ..judging.figure_rule import MOST, Test, Tier, figure_check

check = figure_check(
    "thick-bezel", MOST,
    Test(
        BEZEL_WALL,
        (
            Tier("cast", "this bezel wall is thick"),
        ),
        "make the wall thinner",
        mend="wall",
    ),
)  # fmt: skip
