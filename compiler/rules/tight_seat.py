"""Seats too tight for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.rule import Level
from ..judging.seats import CLEARANCE

RULE = figure_rule(
    "tight-seat", "A seat is too tight.", Level.WARNING, LEAST,
    Test(
        CLEARANCE,
        (
            Tier("least", "the seat is tight: stones vary by more"),
        ),
        "say 'clearance {value}'",
        mend="clearance",
    ),
    why="Stones of one size differ by some hundredths, and casting shrinks the seat; a stone "
    "forced in chips at the girdle.",
    remedy="Leave 0.03 to 0.05 mm of room all round.",
    source="house choice, no source",
)  # fmt: skip
