"""Seats too tight for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.seats import CLEARANCE

check = figure_check(
    "tight-seat", LEAST,
    Test(
        CLEARANCE,
        (
            Tier("least", "the seat is tight: stones vary by more"),
        ),
        "say 'clearance {value}'",
        mend="clearance",
    ),
)  # fmt: skip
