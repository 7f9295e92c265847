"""Bezel walls too thin to cast and rub over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

CHORDS = 0.002  # mm, a wall measured between chords comes out so much thinner than it is


def _check(piece: Piece) -> Iterator[Finding]:
    for bezel in piece.bezels:
        limit = piece.bound("thin-bezel", "cast", bezel.feature)
        if below(bezel.wall + CHORDS, limit):
            yield Finding(
                "this bezel wall is thin",
                bezel.feature,
                mm(bezel.wall),
                least(mm(limit)),
                "make the wall thicker",
                bezel.wall,
                limit,
                key="outside",
                keys=("wall", "outside"),
                place=place(piece.stones.frames[bezel.stone, :, 3]),
                mend=Mend("wall", rounded_up(limit), "least"),
            )


RULE = Rule(
    "thin-bezel",
    "A bezel wall is too thin.",
    "plan",
    Level.WARNING,
    "Burnishing and filing take some of the wall, and 0.4 mm should be left; a thinner one "
    "may not fill in casting and tears when it is rubbed over.",
    "Make it 0.5 to 0.7 mm as cast.",
    "PU putaringonit.co (structurally sound); as cast: common practice, no source",
    _check,
)
