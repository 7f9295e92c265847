"""Seats too slack for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.seats import CLEARANCE

check = figure_check(
    "slack-seat", MOST,
    Test(
        CLEARANCE,
        (
            Tier("most", "the seat is loose round its stone"),
        ),
        "say 'clearance {value}'",
        mend="clearance",
    ),
)  # fmt: skip
