"""castings-meet: two castings in one another's room."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.castings import Body
    from ...judging.piece import Piece
    from ...measures.skin import Skin

NEAR = 1e-4  # mm


def _check(piece: Piece) -> Iterator[Verdict]:
    from ...measures.mass import volume_and_centre
    from ...measures.skin import from_manifold

    castings = piece.casting_measures.castings
    cast = [one for one in piece.casting_measures.bodies if not castings[one.casting].bought]
    for k, one in enumerate(cast):
        for two in cast[k + 1 :]:
            if one.casting == two.casting or not one.meets(two):
                continue
            shared = (one.solid ^ two.solid).decompose()
            if not shared:
                continue
            volume = sum(part.volume() for part in shared)
            common = from_manifold(max(shared, key=lambda part: part.volume()))
            centre = volume_and_centre(common)[1]
            mine, other = (_standing(body, common) for body in (two, one))
            bound = piece.bound("castings-meet", "most", mine)
            if above(volume, bound):
                names = [castings[body.casting].called for body in (two, one)]
                x, y, z = centre.tolist()
                yield Verdict(
                    f"{names[0]} and {names[1]} run into one another: {piece.name_of(mine)} stands in "
                    f"{piece.name_of(other)}",
                    mine,
                    f"{volume:.3g} mm3 in common",
                    f"{bound:g} mm3 or less",
                    "move them apart, or take them into one casting",
                    volume,
                    bound,
                    place=place((x, y, z)),
                )


def _standing(body: Body, common: Skin) -> int:
    """The feature of a body with the most faces round what it shares with another."""
    from ...measures.closest import on_triangle

    middle = common.corners.mean(axis=1)
    row, face = body.skin.grid.near(middle - NEAR, middle + NEAR)
    off = on_triangle(middle[row], body.skin.corners[face]) - middle[row]
    on = (np.abs(off).max(axis=1) < NEAR) & (body.skin.owner[face] >= 0)
    most = np.bincount(body.skin.owner[face[on]], common.areas[row[on]])
    return int(most.argmax()) if len(most) else max(0, *body.shell.owners)



RULE = Rule(
    "castings-meet",
    "Two castings stand in one another.",
    "metal",
    Level.FAULT,
    "Each casting is cast whole: where two take the same room they cannot be put together.",
    "Leave room between them, or make them one casting.",
    "elementary geometry",
    _check,
)
