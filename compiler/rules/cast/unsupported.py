"""Faces that hang out and that no prop may hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
