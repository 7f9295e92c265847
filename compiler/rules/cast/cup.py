"""Hollows that are open to the film alone while they print."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for one, bound in places(piece, piece.prints, "cup", "most", lambda plan: plan.cups):
        yield Verdict(
            "this hollow is open to the film alone while it prints",
            one.feature,
            f"{one.figure:.1f} mm2, {0.101325 * one.figure:.1f} N of pull",
            most(f"{bound:g} mm2"),
            "drill it through, or turn the piece on the plate",
            one.figure,
            bound,
            place=place(one.at),
        )
