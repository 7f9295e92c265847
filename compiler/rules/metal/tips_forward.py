"""tips-forward: a face that hangs looking down or up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, mm, place, rounded_up
from ...judging.moves import told_alike
from ...judging.righted import righted
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.hanging import Rest
    from ...judging.piece import Piece

FOLLOWS = 0.25  # of how far a loop is moved, by which the middle of the weight follows it at most


def check(piece: Piece) -> Iterator[Verdict]:
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips:
            continue  # see top-heavy
        tilt, loop = rest.hang.tilt_forward, rest.loops[0]
        bound = piece.bound("tips-forward", "most", loop.feature)
        if above(abs(tilt), bound):
            yield Verdict(
                "it hangs with its face tipped " + ("down" if tilt > 0 else "up"),
                loop.feature,
                f"{abs(tilt):.1f} degrees",
                f"{bound:g} degrees or less",
                righted(piece, casting) or _moved(piece, rest, bound),
                abs(tilt),
                bound,
                keys=("out", "inward", "up"),
                place=place(casting.centre[1]),
                # Behind the piece there is no place to hang it plumb: the wearer's body stops it.
                level=Level.HINT if piece.is_for(loop.feature, Role.BACK_BAIL) else Level.WARNING,
            )


def _moved(piece: Piece, rest: Rest, most: float) -> str:
    """How far the loops are moved at least, and how far off the middle of the weight lies."""
    slope, flat = (float(np.tan(np.radians(one))) for one in (rest.hang.tilt_forward, most))
    ahead = rest.above * slope
    least = np.array([0.0, 0.0, ahead * (1.0 - flat / abs(slope)) / (1.0 - FOLLOWS)])
    way = told_alike(piece, (loop.feature for loop in rest.loops), least)
    if not way:
        way = f"{rounded_up(abs(least[2]))} {'toward you' if ahead > 0 else 'away from you'}"
    loops = "loops" if len(rest.loops) > 1 else "loop"
    there = f"the middle of the weight lies {mm(abs(ahead))} that way"
    return f"move the {loops} {way} or more ({there}), or higher"
