"""Beads that melt into one another."""

from __future__ import annotations

from ..judging.beads import PITCH
from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.rule import Level

RULE = figure_rule(
    "merged-beads", "Beads run into one another.", Level.HINT, LEAST,
    Test(
        PITCH,
        (
            Tier("pitch", "these beads run into one another"),
        ),
        "make the pitch about the size of a bead",
        mend="fit",
    ),
    why="Overlapping beads read as a wavy wire, not as a row of grains.",
    remedy="Let the pitch be the bead's diameter or little more.",
    source="common practice, no source",
)  # fmt: skip
