"""Seats too slack for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.rule import Level
from ..judging.seats import CLEARANCE

RULE = figure_rule(
    "slack-seat", "A seat is too loose.", Level.WARNING, MOST,
    Test(
        CLEARANCE,
        (
            Tier("most", "the seat is loose round its stone"),
        ),
        "say 'clearance {value}'",
        mend="clearance",
    ),
    why="In a loose seat the stone shifts under the pusher and the girdle stands free of the "
    "metal.",
    remedy="Leave 0.03 to 0.05 mm of room all round.",
    source="house choice, no source",
)  # fmt: skip
