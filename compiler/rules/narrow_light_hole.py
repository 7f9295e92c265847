"""Light holes too narrow for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.rule import Level
from ..judging.seats import LIGHT_HOLE

RULE = figure_rule(
    "narrow-light-hole", "A light hole is too narrow.", Level.HINT, LEAST,
    Test(
        LIGHT_HOLE,
        (
            Tier("least", "the light hole under this stone is narrow", more=lambda _: " of its width"),
        ),
        "say 'hole {value}'",
        mend="hole",
    ),
    why="A narrow hole keeps the stone dark, and investment breaks away in it and leaves grit in "
    "the metal.",
    remedy="Make it half the stone's width or a little more.",
    source="common practice, no source",
)  # fmt: skip
