"""Prongs that lie too far over their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_rule
from ..judging.grips import PRONG_BITE
from ..judging.rule import Level

RULE = figure_rule(
    "prong-bite", "Too much of a prong is cut away for the seat.", Level.WARNING, MOST,
    Test(
        PRONG_BITE,
        (
            Tier("most", "the seat takes too much out of this prong", Level.WARNING),
            Tier("advised", "the seat takes too much out of this prong", Level.HINT),
        ),
        "move the prong outward, or take thicker wire",
        mend="bite",
    ),
    why="What is left behind the girdle bends the tip and holds the stone; past half the wire it "
    "breaks when it is pushed over, or later.",
    remedy="Let less of the wire lie over the girdle, or take thicker wire.",
    source="GIA1 gia.edu/quality-assurance-benchmark/setting-round-center-stone-ring-platinum-prong; "
    "PJ professionaljeweler.com 2004/jul04/0704pb1",
)  # fmt: skip
