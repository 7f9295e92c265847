"""Castings as they are poured: metal that freezes too early or too late, that no sprue feeds or that runs
short, sprues that freeze too soon, a flask that is too small."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import least, most, place, rounded_up, share
from ...judging.pours import past, place_check
from ...judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

hot_spot = place_check(
    "hot-spot", "late", lambda piece: (one for pour in piece.pours for one in pour.hot),
    "this freezes after the metal that feeds it, {other:.2g} mm3 of it",
    lambda one: f"{share(one.figure)} of its time later",
    lambda bound: most(share(bound)),
    "put a sprue on it, make the metal that leads to it thicker, or hollow it",
)  # fmt: skip

misrun = place_check(
    "misrun", "most", lambda piece: (one for pour in piece.pours for one in pour.slow),
    "metal may freeze here before it has filled the mould",
    lambda one: f"it comes after {share(one.figure)} of the {one.other:.2g} s in which it runs",
    lambda bound: most(share(bound)),
    "make the wall thicker, put a sprue nearer to it, or pour hotter into a hotter flask",
)  # fmt: skip

starved = place_check(
    "starved", "least", lambda piece: (one for pour in piece.pours for one in pour.unfed),
    "no sprue reaches this metal",
    lambda one: f"{one.figure:.3g} mm3 without a sprue",
    lambda bound: most(f"{bound:g} mm3"),
    "write a line 'sprue' for it, at its thickest place",
)  # fmt: skip


def sprue_thin(piece: Piece) -> Iterator[Verdict]:
    thin = (one for pour in piece.pours for one in pour.thin)
    for spot, bound in past(piece, "sprue-thin", "late", thin):
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


def flask_full(piece: Piece) -> Iterator[Verdict]:
    for pour in piece.pours:
        bound = piece.bound("flask-full", "least", pour.feature)
        if pour.room < bound:
            yield Verdict(
                f"{pour.called} does not go into the flask",
                pour.feature,
                f"{pour.room} of them",
                least(f"{bound:g}"),
                "take a larger flask ('inside', 'tall' below [flask] in bench.toml), or cast it in parts",
                float(pour.room),
                bound,
            )
