"""metal-in-crumbs: an alloy that comes out in pieces of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, place
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    from ...measures.bodies import pieces
    from ...measures.skin import Skin

    alloys = Counter(part.casting for part in piece.parts)
    for part in piece.parts:
        if alloys[part.casting] < 2 or part.bought:
            continue  # of one alloy, see loose-piece
        bodies = pieces(Skin(part.points, part.triangles, part.owner))
        if len(bodies) < 2:
            continue
        least = bodies[-1]
        owners = [owner for owner in least.owners if owner >= 0] or [0]
        mine = next((one for one in owners if piece.metal_of(one) == part.metal), owners[0])
        bound = piece.bound("metal-in-crumbs", "least", mine)
        crumbs = below(least.volume, bound)
        yield Verdict(
            f"the {part.metal} comes out in {len(bodies)} separate bodies"
            + (f": {piece.name_of(mine)} is too little to be cast by itself" if crumbs else ""),
            mine,
            f"the least {least.volume:.3g} mm3",
            f"{bound:g} mm3 or more for a body that is cast by itself",
            "give these parts the metal they stand on, or join them in their own"
            if crumbs
            else "cast each on a sprue of its own, or join them in their own metal",
            least.volume,
            bound,
            keys=("metal",),
            place=place(least.centre),
            level=Level.WARNING if crumbs else Level.HINT,
        )
