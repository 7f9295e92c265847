"""Beads too fine to print and cast."""

from __future__ import annotations

from ..judging.beads import BEAD, GRAIN
from ..judging.figure_rule import LEAST, Test, Tier, figure_check
from ..judging.rule import Level

check = figure_check(
    "bead-too-fine", LEAST,
    Test(
        GRAIN,
        (
            Tier("setting", "these beads are too fine to hold a stone"),
        ),
        "make them {value}",
        mend="bead",
    ),
    Test(
        BEAD,
        (
            Tier("least", "these beads are too fine to print and cast", Level.WARNING),
            Tier("advised", "these beads are fine", Level.HINT),
        ),
        "make them {value}",
        mend="across",
    ),
)  # fmt: skip
