"""slender: long thin wire, measured on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place, times
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for part in piece.skin_measures.slender:
        if part.owner < 0:
            continue
        bound = piece.bound("slender", "most", part.owner)
        ratio = part.length / part.usual
        if above(ratio, bound):
            yield Finding(
                f"{piece.name_of(part.owner)} is long and thin",
                part.owner,
                f"{mm(part.length)} long, {mm(part.usual)} thick: {times(ratio)}",
                most(times(bound)),
                "make it thicker or shorter, or tie it to its neighbour half way",
                ratio,
                bound,
                keys=("across", "wire", "round", "square", "half-round", "flat"),
                place=place(part.at),
                level=Level.WARNING if above(ratio, 2 * bound) else Level.NOTE,
            )


RULE = Rule(
    "slender",
    "A wire is long and thin.",
    "metal",
    Level.WARNING,
    "A long thin wire fills badly in the casting, bows in the wax and bends in wear.",
    "Make it thicker or shorter, or tie it to its neighbour half way.",
    "house choice, no source",
    _check,
)
