"""What begins in mid air and no prop holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        for one in plan.islands:
            bound = piece.bound("island", "most", one.feature)
            if bound < 1.0:
                yield Verdict(
                    "this begins in mid air, and no prop reaches it",
                    one.feature,
                    f"in layer {one.figure:.0f}",
                    "something under it",
                    "turn the piece on the plate, or let it grow from metal below",
                    1.0,
                    bound,
                    place=place(one.at),
                )


RULE = Rule(
    "island",
    "An island prints into the vat.",
    "cast",
    Level.WARNING,
    "The printer shows a layer at a time; what has nothing under it sticks to the film, not to "
    "the piece, and is lost.",
    "Turn the piece, or let metal lead to it from below.",
    "elementary geometry",
    _check,
)
