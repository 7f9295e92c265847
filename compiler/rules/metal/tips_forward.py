"""tips-forward: a face that hangs looking down or up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import above, place
from ...judging.righted import righted
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips:
            continue  # see top-heavy
        tilt, loop = rest.hang.tilt_forward, rest.loops[0]
        bound = piece.bound("tips-forward", "most", loop.feature)
        if above(abs(tilt), bound):
            ahead = tilt > 0
            yield Verdict(
                "it hangs with its face tipped " + ("down" if ahead else "up"),
                loop.feature,
                f"{abs(tilt):.1f} degrees",
                f"{bound:g} degrees or less",
                righted(piece, casting) or f"move the loops {'outward' if ahead else 'inward'}, to the middle of "
                "the weight, or raise them",
                abs(tilt),
                bound,
                keys=("out", "inward", "up"),
                place=place(casting.centre[1]),
                # Behind the piece there is no place to hang it plumb: the wearer's body stops it.
                level=Level.HINT if piece.is_for(loop.feature, Role.BACK_BAIL) else Level.WARNING,
            )


RULE = Rule(
    "tips-forward",
    "The face hangs tipped up or down.",
    "metal",
    Level.WARNING,
    "A piece comes to rest with its centre of mass straight below its loops; when the weight "
    "lies in front of them or behind, the face looks up or down.",
    "Set the loops over the middle of the weight front to back, or higher.",
    "elementary statics; the figure is common practice, no source",
    _check,
)
