"""Beads with gaps between."""

from __future__ import annotations

from ..judging.beads import PITCH
from ..judging.figure_rule import MOST, Test, Tier, figure_check

check = figure_check(
    "sparse-beads", MOST,
    Test(
        PITCH,
        (
            Tier("pitch", "these beads stand apart"),
        ),
        "make the pitch about the size of a bead",
        mend="fit",
    ),
)  # fmt: skip
