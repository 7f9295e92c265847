"""Beads with gaps between."""

from __future__ import annotations

from ..judging.beads import PITCH
from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.rule import Level

RULE = figure_rule(
    "sparse-beads", "Beads stand apart.", Level.HINT, MOST,
    Test(
        PITCH,
        (
            Tier("pitch", "these beads stand apart"),
        ),
        "make the pitch about the size of a bead",
        mend="fit",
    ),
    why="Between beads that do not touch the edge shows flat and rough, where no tool reaches.",
    remedy="Let the pitch be the bead's diameter or little more.",
    source="common practice, no source",
)  # fmt: skip
