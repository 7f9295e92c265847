"""Light holes too wide for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.rule import Level
from ..judging.seats import LIGHT_HOLE

RULE = figure_rule(
    "wide-light-hole", "A light hole is too wide.", Level.WARNING, MOST,
    Test(
        LIGHT_HOLE,
        (
            Tier("most", "the light hole under this stone is wide", more=lambda _: " of its width"),
        ),
        "say 'hole {value}'",
        mend="hole",
    ),
    why="The wider the hole, the narrower the ledge that carries the stone.",
    remedy="Keep it to 60 % of the stone's width.",
    source="common practice, no source",
)  # fmt: skip
