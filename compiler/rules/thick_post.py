"""Ear posts too thick."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.posts import POST
from ..judging.rule import Level

RULE = figure_rule(
    "thick-post", "An ear post is too thick.", Level.WARNING, MOST,
    Test(
        POST,
        (
            Tier("most", "this ear post is thick"),
        ),
        "take wire of {value}",
        mend="wire",
    ),
    why="Usual piercings and clutches take 0.7 to 0.9 mm.",
    remedy="Take 0.8 mm wire.",
    source="MJ misterjewel.com; common practice, no source",
)  # fmt: skip
