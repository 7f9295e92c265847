"""Beads too fine to print and cast."""

from __future__ import annotations

from ..judging.beads import BEAD, GRAIN
from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.rule import Level

RULE = figure_rule(
    "bead-too-fine", "Beads are too fine.", Level.WARNING, LEAST,
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
    why="Small beads run together in the print, fill badly and vanish under the polishing wheel.",
    remedy="Take beads of 0.35 to 0.6 mm.",
    source="common practice, no source",
)  # fmt: skip
