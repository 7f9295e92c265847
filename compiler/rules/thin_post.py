"""Ear posts too thin."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.posts import POST
from ..judging.rule import Level

RULE = figure_rule(
    "thin-post", "An ear post is too thin.", Level.WARNING, LEAST,
    Test(
        POST,
        (
            Tier("least", "this ear post is too thin", Level.WARNING),
            Tier("advised", "this ear post is rather thin", Level.HINT),
        ),
        "take wire of {value}",
        mend="wire",
    ),
    why="A thin post bends, cuts into the piercing, and slips through the clutch.",
    remedy="Take 0.8 mm wire; solder a drawn one on rather than cast it.",
    source="MJ misterjewel.com; common practice, no source",
)  # fmt: skip
