"""Prongs too thin for their stone."""

from __future__ import annotations

from ..judging.figure_rule import LEAST, Test, Tier, figure_rule
from ..judging.grips import PRONG_WIRE, of_usual, usual_shown
from ..judging.rule import Level

RULE = figure_rule(
    "thin-prong", "A prong is too thin for its stone.", Level.WARNING, LEAST,
    Test(
        PRONG_WIRE,
        (
            Tier("least", "this prong is too thin"),
            Tier("usual", "this prong is thin for its stone", bound=of_usual, more=usual_shown),
        ),
        "take wire of {value}",
        mend="wire",
    ),
    why="A thin prong may not fill in casting, loses the most to filing and polishing, and wears "
    "or bends open until the stone is lost.",
    remedy="Take thicker wire; about 0.6 mm for 2 mm stones, 1 mm for 6 mm ones.",
    source="GE gemwares.com (production notes page); by stone: common practice, no source",
)  # fmt: skip
