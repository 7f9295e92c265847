"""Walls that freeze before they fill."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place, share
from ...judging.pours import places
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for spot, bound in places(piece, piece.pours, "misrun", "most", lambda pour: pour.slow):
        yield Verdict(
            "metal may freeze here before it has filled the mould",
            spot.feature,
            f"it comes after {share(spot.figure)} of the {spot.other:.2g} s in which it runs",
            most(share(bound)),
            "make the wall thicker, put a sprue nearer to it, or pour hotter into a hotter flask",
            spot.figure,
            bound,
            place=place(spot.at),
        )


RULE = Rule(
    "misrun",
    "A wall may freeze before it fills.",
    "cast",
    Level.WARNING,
    "Metal that runs into a thin wall cools as it goes; once a third of it is solid it runs no further "
    "and the wall stays short, with a rounded edge.",
    "Make the wall thicker, put a sprue nearer to it, or ask your caster for more heat in metal and flask.",
    "M. C. Flemings, Solidification Processing (1974), fluidity, from memory",
    _check,
)
