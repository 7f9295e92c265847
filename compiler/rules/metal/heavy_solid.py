"""Solid masses that should be hollow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import FigureOf, Role
from ...judging.digits import above, mm, most, place
from ...judging.figures import figures, narrowest
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.BODY, Role.BEAD):
        across = next(figures(call, FigureOf.THICKNESS, FigureOf.MASS), None)
        if across is None or call.get("bought"):
            continue
        _, key, value = across
        limit = piece.bound("heavy-solid", "most", feature)
        # What the text states is how much there is to look for; what counts is the metal.
        if not above(narrowest(value), limit):
            continue
        thick, at = piece.skin_measures.thickest(feature.index)
        if above(thick, limit):
            yield Verdict(
                "this solid mass is thicker than needed",
                feature.index,
                f"a ball of {mm(thick)} fits in the metal",
                most(mm(limit)),
                "hollow it from the back, or make it thinner",
                thick,
                limit,
                key=key,
                keys=(key, "thick", "height"),
                place=place(at),
            )
