"""Beads too coarse for a beaded edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.beads import EDGE_BEAD, GRAIN, NOOK_GRAIN
from ..judging.figure_rule import MOST, Reading, Test, Tier, figure_check

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.piece import Piece

ASLANT = 0.05  # mm, what a bead that stands aslant, and its facets, take of its lap on the metal


def _needed(piece: Piece, limit: Bound, reading: Reading) -> Bound:
    """The limit, or as thick as a bead must be to lap over its girdle: see uncovered-girdle."""
    spare = reading.of.bite - piece.bound("uncovered-girdle", "least", reading.feature) - ASLANT
    return limit + max(reading.figure - 2 * spare - limit, 0.0)


check = figure_check(
    "bead-too-coarse", MOST,
    Test(
        GRAIN,
        (
            Tier("setting", "these beads are coarse beside their stones", bound=_needed),
        ),
        "take smaller beads, bring the stones closer, or let the setter split the bead in two",
        mend="bead",
    ),
    Test(
        NOOK_GRAIN,
        (
            Tier("nook", "a nook between stones is wide for one bead"),
        ),
        "bring the stones closer, or let the setter split the bead in two",
    ),
    Test(
        EDGE_BEAD,
        (
            Tier("advised", "these beads are coarse for a beaded edge"),
        ),
        "take smaller beads, or 'ball' for granules",
        mend="across",
    ),
)  # fmt: skip
