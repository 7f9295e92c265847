"""Sprues that freeze before what they feed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import most, place, rounded_up, share
from ...judging.pours import places
from ...judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for spot, bound in places(piece, piece.pours, "sprue-thin", "late", lambda pour: pour.thin):
        wide = rounded_up(spot.other)
        own = piece.is_for(spot.feature, Role.SPRUE)
        yield Verdict(
            "the sprue here freezes before the metal it feeds",
            spot.feature,
            f"{share(spot.figure)} of that metal's time before it",
            most(share(bound)),
            f"make the sprue {wide} thick, or set a second one beside it",
            spot.figure,
            bound,
            key="wire" if own else None,
            keys=("wire",) if own else (),
            place=place(spot.at),
            mend=Mend("wire", wide, "least") if own else None,
        )
