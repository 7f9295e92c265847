"""Metal that no sprue reaches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for spot, bound in places(piece, piece.pours, "starved", "least", lambda pour: pour.unfed):
        yield Verdict(
            "no sprue reaches this metal",
            spot.feature,
            f"{spot.figure:.3g} mm3 without a sprue",
            most(f"{bound:g} mm3"),
            "write a line 'sprue' for it, at its thickest place",
            spot.figure,
            bound,
            place=place(spot.at),
        )
