"""Bezel walls too thin to cast and rub over."""

from __future__ import annotations

from ..judging.bezels import BEZEL_WALL
from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.rule import Level

CHORDS = 0.003  # mm, a wall measured between chords comes out so much thinner than it is

RULE = figure_rule(
    "thin-bezel", "A bezel wall is too thin.", Level.WARNING, LEAST,
    Test(
        BEZEL_WALL,
        (
            Tier("cast", "this bezel wall is thin"),
        ),
        "make the wall thicker",
        mend="wall",
        play=CHORDS,
    ),
    why="Burnishing and filing take some of the wall, and 0.4 mm should be left; a thinner one "
    "may not fill in casting and tears when it is rubbed over.",
    remedy="Make it 0.5 to 0.7 mm as cast.",
    source="PU putaringonit.co (structurally sound); as cast: common practice, no source",
)  # fmt: skip
