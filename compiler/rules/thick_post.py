"""Ear posts too thick."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.posts import POST

check = figure_check(
    "thick-post", MOST,
    Test(
        POST,
        (
            Tier("most", "this ear post is thick"),
        ),
        "take wire of {value}",
        mend="wire",
    ),
)  # fmt: skip
