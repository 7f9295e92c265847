"""Bezel walls too thick to rub over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for bezel in piece.bezels:
        limit = piece.bound("thick-bezel", "cast", bezel.feature)
        if above(bezel.wall, limit):
            yield Finding(
                "this bezel wall is thick",
                bezel.feature,
                mm(bezel.wall),
                most(mm(limit)),
                "make the wall thinner",
                bezel.wall,
                limit,
                key="outside",
                keys=("wall", "outside"),
                place=place(piece.stones.frames[bezel.stone, :, 3]),
                mend=Mend("wall", rounded_down(limit), "most"),
            )


RULE = Rule(
    "thick-bezel",
    "A bezel wall is too thick.",
    "plan",
    Level.NOTE,
    "A thick wall needs a hammer to go over and leaves a broad dull rim round the stone.",
    "Make it 0.5 to 0.7 mm as cast, or thin its upper edge with a file.",
    "common practice, no source",
    _check,
)
