"""castings-meet: two castings in one another's room."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import above, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.castings import Body
    from ..judging.piece import Piece
    from ..measures.skin import Skin

MOST_FACES = 60  # of what is shared, the largest, looked at for whose it is


def _check(piece: Piece) -> Iterator[Verdict]:
    from ..measures.mass import volume_and_centre
    from ..measures.skin import from_manifold

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
    """The feature of a body with the largest faces round what it shares with another."""
    from ..measures.closest import nearest

    faces = np.argsort(-common.areas, kind="stable")[:MOST_FACES]
    middles = common.corners[faces].mean(axis=1)
    owner = body.skin.owner[[nearest(body.skin, at)[1] for at in middles]]
    known = owner >= 0
    most = np.bincount(owner[known], common.areas[faces][known])
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
