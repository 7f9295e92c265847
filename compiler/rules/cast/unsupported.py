"""Faces that hang out and that no prop may hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place
from ...judging.pours import places
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for one, bound in places(piece, piece.prints, "unsupported", "most", lambda plan: plan.unheld):
        yield Verdict(
            "this hangs out, and no prop may hold it or reaches it",
            one.feature,
            f"{one.figure:.1f} mm2 from layer {one.other:.0f}",
            most(f"{bound:g} mm2"),
            "turn the piece on the plate so that it looks up, or cut that work again at the bench",
            one.figure,
            bound,
            place=place(one.at),
        )


RULE = Rule(
    "unsupported",
    "A face hangs out and is not held.",
    "cast",
    Level.HINT,
    "Nothing holds a face that hangs out but props, and these stand neither on seats, beads nor letters: "
    "a stub filed away there takes the work with it. It sags by a layer or two and prints rough.",
    "Turn the piece, or cut that work again after printing.",
    "common practice, no source",
    _check,
)
