"""Bezel walls too thick to rub over."""

from __future__ import annotations

from ..judging.bezels import BEZEL_WALL
from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.rule import Level

RULE = figure_rule(
    "thick-bezel", "A bezel wall is too thick.", Level.HINT, MOST,
    Test(
        BEZEL_WALL,
        (
            Tier("cast", "this bezel wall is thick"),
        ),
        "make the wall thinner",
        mend="wall",
    ),
    why="A thick wall needs a hammer to go over and leaves a broad dull rim round the stone.",
    remedy="Make it 0.5 to 0.7 mm as cast, or thin its upper edge with a file.",
    source="common practice, no source",
)  # fmt: skip
