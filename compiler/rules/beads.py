"""Rows of beads and beads that hold stones: too fine, too coarse, run together or standing apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.beads import BEAD, EDGE_BEAD, GRAIN, NOOK_GRAIN, PITCH
from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece

ASLANT = 0.05  # mm, what a bead that stands aslant, and its facets, take of its lap on the metal
PITCHED = "make the pitch about the size of a bead"


def _needed(piece: Piece, limit: Bound, reading: Reading) -> Bound:
    """The limit, or as thick as a bead must be to lap over its girdle: see uncovered-girdle."""
    spare = reading.of.bite - piece.bound("uncovered-girdle", "least", reading.feature) - ASLANT
    return limit + max(reading.figure - 2 * spare - limit, 0.0)


bead_too_fine = figure_check(
    "bead-too-fine", LEAST,
    Test(
        GRAIN, (Tier("setting", "these beads are too fine to hold a stone"),),
        "make them {value}", mend="bead",
    ),
    Test(
        BEAD,
        (
            Tier("least", "these beads are too fine to print and cast", Level.WARNING),
            Tier("advised", "these beads are fine", Level.HINT),
        ),
        "make them {value}", mend="across",
    ),
)  # fmt: skip

bead_too_coarse = figure_check(
    "bead-too-coarse", MOST,
    Test(
        GRAIN, (Tier("setting", "these beads are coarse beside their stones", bound=_needed),),
        "take smaller beads, bring the stones closer, or let the setter split the bead in two", mend="bead",
    ),
    Test(
        NOOK_GRAIN, (Tier("nook", "a nook between stones is wide for one bead"),),
        "bring the stones closer, or let the setter split the bead in two",
    ),
    Test(
        EDGE_BEAD, (Tier("advised", "these beads are coarse for a beaded edge"),),
        "take smaller beads, or 'ball' for granules", mend="across",
    ),
)  # fmt: skip

merged_beads = figure_check(
    "merged-beads", LEAST,
    Test(PITCH, (Tier("pitch", "these beads run into one another"),), PITCHED, mend="fit"),
)  # fmt: skip

sparse_beads = figure_check(
    "sparse-beads", MOST, Test(PITCH, (Tier("pitch", "these beads stand apart"),), PITCHED, mend="fit")
)
