"""Detail that is one pixel wide."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import place
from ...judging.pours import places
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
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


RULE = Rule(
    "under-pixel",
    "A detail is one pixel wide.",
    "cast",
    Level.WARNING,
    "What is a pixel wide prints as thick as the light happens to fall, or not at all.",
    "Make it wider than two pixels.",
    "elementary",
    _check,
)
