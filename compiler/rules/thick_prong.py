"""Prongs too thick for their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.grips import PRONG_WIRE, of_usual, usual_shown
from ..judging.rule import Level

RULE = figure_rule(
    "thick-prong", "A prong is too thick for its stone.", Level.HINT, MOST,
    Test(
        PRONG_WIRE,
        (
            Tier("most", "this prong is thick for its stone", bound=of_usual, more=usual_shown),
        ),
        "take thinner wire: it is hard to bend and hides the stone",
        mend="wire",
    ),
    why="Thick wire takes force to push over, which the stone feels, and it covers a small stone.",
    remedy="Take thinner wire.",
    source="house choice, no source, from the usual wire by stone (common practice, no source)",
)  # fmt: skip
