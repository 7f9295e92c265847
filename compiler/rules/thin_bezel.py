"""Bezel walls too thin to cast and rub over."""

from __future__ import annotations

from ..judging.bezels import BEZEL_WALL
from ..judging.figure_rule import LEAST, Test, Tier, figure_check

CHORDS = 0.003  # mm, a wall measured between chords comes out so much thinner than it is

check = figure_check(
    "thin-bezel", LEAST,
    Test(
        BEZEL_WALL,
        (
            Tier("cast", "this bezel wall is thin"),
        ),
        "make the wall thicker",
        mend="wall",
        play=CHORDS,
    ),
)  # fmt: skip
