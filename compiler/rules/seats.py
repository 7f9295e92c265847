"""Seats too tight or too slack for their stone, and light holes too narrow or too wide."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check
from ..judging.seats import CLEARANCE, LIGHT_HOLE


def _of_width(_: object) -> str:
    return " of its width"


tight_seat = figure_check(
    "tight-seat", LEAST,
    Test(
        CLEARANCE, (Tier("least", "the seat is tight: stones vary by more"),),
        "say 'clearance {value}'", mend="clearance",
    ),
)  # fmt: skip

slack_seat = figure_check(
    "slack-seat", MOST,
    Test(
        CLEARANCE, (Tier("most", "the seat is loose round its stone"),),
        "say 'clearance {value}'", mend="clearance",
    ),
)  # fmt: skip

narrow_light_hole = figure_check(
    "narrow-light-hole", LEAST,
    Test(
        LIGHT_HOLE, (Tier("least", "the light hole under this stone is narrow", more=_of_width),),
        "say 'hole {value}'", mend="hole",
    ),
)  # fmt: skip

wide_light_hole = figure_check(
    "wide-light-hole", MOST,
    Test(
        LIGHT_HOLE, (Tier("most", "the light hole under this stone is wide", more=_of_width),),
        "say 'hole {value}'", mend="hole",
    ),
)  # fmt: skip
