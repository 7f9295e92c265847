"""undrained-hollow: a hollow whose only way out is too narrow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    large = piece.bound("undrained-hollow", "large-hollow")
    for chamber in piece.skin_measures.chambers:
        if chamber.neck <= 0:
            continue  # shut: see trapped-void
        what = "hole-large" if chamber.volume > large else "hole"
        owner = piece.skin_measures.owner_near(chamber.at)
        bound = piece.bound("undrained-hollow", what, owner)
        if below(chamber.neck, bound):
            yield Verdict(
                f"a hollow at {piece.name_of(owner)} drains through a narrow neck",
                owner,
                f"neck {mm(chamber.neck)}, {mm(chamber.width)} wide within",
                least(mm(bound)),
                "widen the way out, or open the hollow at the back",
                chamber.neck,
                bound,
                place=place(chamber.at),
            )
