"""out-of-scale: a weight nobody wears, as cm written for mm gives."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        bound = piece.bound("out-of-scale", "most")
        if above(grams, bound):
            owners, counts = np.unique(casting.skin.owner, return_counts=True)
            size = casting.skin.box[1] - casting.skin.box[0]
            yield Verdict(
                f"{casting.called} weighs more than anyone wears",
                int(max(owners[np.argmax(counts)], 0)),
                f"{grams:,.0f} g, {size[0]:.0f} x {size[1]:.0f} x {size[2]:.0f} mm",
                f"{bound:g} g or less",
                "check the units: mm where cm, in or m is written",
                grams,
                bound,
                place=place(centre),
            )
