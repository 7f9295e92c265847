"""Beads that melt into one another."""

from __future__ import annotations

from ..judging.beads import PITCH
from ..judging.figure_rule import LEAST, Test, Tier, figure_check

check = figure_check(
    "merged-beads", LEAST,
    Test(
        PITCH,
        (
            Tier("pitch", "these beads run into one another"),
        ),
        "make the pitch about the size of a bead",
        mend="fit",
    ),
)  # fmt: skip
