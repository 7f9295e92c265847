"""Light holes too narrow for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.seats import LIGHT_HOLE

check = figure_check(
    "narrow-light-hole", LEAST,
    Test(
        LIGHT_HOLE,
        (
            Tier("least", "the light hole under this stone is narrow", more=lambda _: " of its width"),
        ),
        "say 'hole {value}'",
        mend="hole",
    ),
)  # fmt: skip
