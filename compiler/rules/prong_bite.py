"""Prongs that lie too far over their stone."""

from __future__ import annotations

from ..judging.figure_rule import MOST, Test, Tier, figure_check
from ..judging.grips import PRONG_BITE
from ..judging.rule import Level

check = figure_check(
    "prong-bite", MOST,
    Test(
        PRONG_BITE,
        (
            Tier("most", "the seat takes too much out of this prong", Level.WARNING),
            Tier("advised", "the seat takes too much out of this prong", Level.HINT),
        ),
        "move the prong outward, or take thicker wire",
        mend="bite",
    ),
)  # fmt: skip
