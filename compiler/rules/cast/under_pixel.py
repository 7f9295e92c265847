"""Detail that is one pixel wide."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import place
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for one, bound in places(piece, piece.prints, "under-pixel", "most", lambda plan: plan.fine):
        yield Verdict(
            "this is a pixel wide",
            one.feature,
            f"{one.figure:.0f} pixels of it, in layer {one.other:.0f}",
            "two pixels and more",
            "make it thicker, or print with finer pixels",
            one.figure,
            bound,
            place=place(one.at),
        )
