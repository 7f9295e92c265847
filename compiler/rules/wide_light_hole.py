"""Light holes too wide for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.seats import LIGHT_HOLE

check = figure_check(
    "wide-light-hole", MOST,
    Test(
        LIGHT_HOLE,
        (
            Tier("most", "the light hole under this stone is wide", more=lambda _: " of its width"),
        ),
        "say 'hole {value}'",
        mend="hole",
    ),
)  # fmt: skip
