"""Metal that freezes after what feeds it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place, share
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for spot, bound in places(piece, piece.pours, "hot-spot", "late", lambda pour: pour.hot):
        yield Verdict(
            f"this freezes after the metal that feeds it, {spot.other:.2g} mm3 of it",
            spot.feature,
            f"{share(spot.figure)} of its time later",
            most(share(bound)),
            "put a sprue on it, make the metal that leads to it thicker, or hollow it",
            spot.figure,
            bound,
            place=place(spot.at),
        )
