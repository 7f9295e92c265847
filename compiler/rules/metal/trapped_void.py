"""trapped-void: a hollow with no way out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import above, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for void in piece.skin_measures.voids:
        owner = next((one for one in void.owners if one >= 0), 0)
        below = piece.is_for(owner, Role.ENGRAVING)
        bound = piece.bound("trapped-void", "most", owner)
        if above(void.volume, bound):
            yield Verdict(
                f"a hollow in {piece.name_of(owner)} has no opening",
                owner,
                f"{void.volume:.3g} mm3 shut in",
                f"{bound:g} mm3",
                "its path lies below the face: lay it on the face, or raise it until it comes out" if below
                else "open it at the back, or drill it twice so that it drains",
                void.volume,
                bound,
                place=place(void.centre),
            )


RULE = Rule(
    "trapped-void",
    "A hollow has no opening.",
    "metal",
    Level.FAULT,
    "Resin, wax and investment must come out of every hollow, and air must get in; what is "
    "shut in bursts the mould or stays in the piece.",
    "Open it at the back, or drill it twice.",
    "common practice, no source; BE belgacemcom-hmidahmida90.blogspot.com (2010-05, garbled)",
    _check,
)
