"""rolling-ring: a ring whose weight turns it on the finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, mm, most, place
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece



def check(piece: Piece) -> Iterator[Verdict]:
    hole = piece.wear_measures.hole
    if hole is None or hole.whose != "finger" or len(piece.casting_measures.castings) > 1:
        return
    _, centre = piece.wear_measures.centre
    go = centre - hole.middle
    off = float(np.linalg.norm(go - (go @ hole.axis) * hole.axis))
    advised, bound = (
        piece.bound("rolling-ring", what, hole.feature) * hole.radius for what in ("advised", "most")
    )
    if above(off, min(advised, bound)):
        rolls = above(off, bound)
        bound = bound if rolls else advised
        yield Verdict(
            "this ring is top-heavy: it turns on the finger" if rolls else "this ring is rather top-heavy",
            hole.feature,
            f"its weight lies {mm(off)} from the middle of the finger",
            f"{most(mm(bound))} for a finger of {mm(2 * hole.radius)}",
            "hollow the head, or make the shank wider and thicker at the back",
            off,
            bound,
            keys=("wide", "thick"),
            place=place(centre),
            level=Level.WARNING if rolls else Level.HINT,
        )
