"""Where two bodies of metal stand in one another: what they share, how deep, by which lines. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from ..measures.kinds import Floats
    from ..measures.skin import Skin
    from .joints import Body

NEAR = 1e-4  # mm


@dataclass(frozen=True, eq=False)
class Meeting:
    """Where two bodies of two castings stand deepest in one another: what they share there, and all of it
    (mm3); how deep, where, and which way the metal ``there`` (0 the first, 1 the second) looks."""

    common: Skin
    volume: float
    deep: float
    at: Floats
    way: Floats
    there: int


def meeting(one: Body, two: Body) -> Meeting | None:
    """What two bodies share, of separate parts that which goes deepest; None where they share nothing."""
    from ..measures.bodies import labels
    from ..measures.rays import room_at
    from ..measures.skin import from_manifold

    shared = one.solid ^ two.solid
    if shared.is_empty():
        return None
    common = from_manifold(shared)
    middle = common.corners.mean(axis=1)
    spots = np.concatenate((middle, common.corners[:, 0]))
    # What lies on the one is as deep in the other as its face is far.
    deep = np.array([room_at(body.skin, spots, NEAR * 100) for body in (two, one)])
    there, k = (int(i) for i in np.unravel_index(int(deep.argmax()), deep.shape))
    face = k % len(middle)
    shell = labels(common)
    part = common.part(shell == shell[face])
    # Where faces are one on paper nothing of the skin is deep; then as deep as what is shared is thick.
    depth = max(float(deep[there, k]), 2 * common.volume / float(common.areas.sum()))
    return Meeting(part, common.volume, depth, spots[k], common.normals[face], there)


def standing(body: Body, common: Skin, other: Body) -> int:
    """The feature of a body with the most faces round what it shares with another, those deep in the other
    before those where the two lie face to face."""
    from ..measures.closest import on_triangle
    from ..measures.rays import room_at

    middle = common.corners.mean(axis=1)
    row, face = body.skin.grid.near(middle - NEAR, middle + NEAR)
    off = on_triangle(middle[row], body.skin.corners[face]) - middle[row]
    on = (np.abs(off).max(axis=1) < NEAR) & (body.skin.owner[face] >= 0)
    deep = common.areas * room_at(other.skin, middle, NEAR * 100)
    weight = np.where(deep > NEAR * common.areas, deep, 0.0)[row[on]]
    most = np.bincount(body.skin.owner[face[on]], weight if weight.any() else common.areas[row[on]])
    return int(most.argmax()) if len(most) else max(0, *body.shell.owners)
