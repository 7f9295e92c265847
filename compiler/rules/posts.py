"""Ear posts too thin or too thick."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check
from ..judging.posts import POST
from ..judging.rule import Level

thin_post = figure_check(
    "thin-post", LEAST,
    Test(
        POST,
        (
            Tier("least", "this ear post is too thin", Level.WARNING),
            Tier("advised", "this ear post is rather thin", Level.HINT),
        ),
        "take wire of {value}", mend="wire",
    ),
)  # fmt: skip

thick_post = figure_check(
    "thick-post", MOST,
    Test(POST, (Tier("most", "this ear post is thick"),), "take wire of {value}", mend="wire"),
)  # fmt: skip
