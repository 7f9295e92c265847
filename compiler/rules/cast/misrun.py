"""Walls that freeze before they fill."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place, share
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
