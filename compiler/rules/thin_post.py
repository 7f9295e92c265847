"""Ear posts too thin."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.posts import POST
from ..judging.rule import Level

check = figure_check(
    "thin-post", LEAST,
    Test(
        POST,
        (
            Tier("least", "this ear post is too thin", Level.WARNING),
            Tier("advised", "this ear post is rather thin", Level.HINT),
        ),
        "take wire of {value}",
        mend="wire",
    ),
)  # fmt: skip
