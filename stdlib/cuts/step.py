"""The step-cut family: tiers of facets parallel to the girdle, down to a keel or point."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .brilliant import upright
from .curves import Point
from .parts import Proportions
from .solid import Facets, Plane, from_planes

Ring = Sequence[Point]  # corners of one level of a tier, counter-clockwise
Level = tuple[Ring, float]  # where a tier starts or ends: ring, mm from the girdle's rim

CROWN = (1.25, 1.0, 0.75)  # steepness of the tiers from the girdle up, against their mean
THREE = (1.3, 1.0, 0.7)  # the same from the girdle down, for three tiers
FOUR = (1.15, 1.05, 0.95, 0.85)  # and for four


def levels(tiers: Sequence[float], height: float) -> list[tuple[float, float]]:
    """(share of the way in, height above the girdle in mm) at the end of each tier."""
    n = len(tiers)
    whole = sum(tiers)
    return [((k + 1) / n, height * sum(tiers[: k + 1]) / whole) for k in range(n)]


def tier(name: str, girdle: Ring, near: Level, far: Level, up: int, half: float) -> list[Plane]:
    """One plane per side, from that side of one level to the same side of the next.

    Heights count from the girdle's rim, half mm above (up 1) or below (up -1) its middle."""
    planes = []
    for k, a in enumerate(girdle):
        side = upright(name, a, girdle[(k + 1) % len(girdle)]).normal
        outer, inner = (side[0] * r[k][0] + side[1] * r[k][1] for r, _ in (near, far))
        # Upright shares of the facet's normal: it turns with the rise over the way in.
        rise, way = far[1] - near[1], outer - inner
        size = math.hypot(rise, way)
        normal = side[0] * rise / size, side[1] * rise / size, up * way / size
        planes.append(Plane(name, normal, (rise * outer + way * (half + near[1])) / size))
    return planes


def stepped(
    girdle: Ring, crown: Sequence[Level], pavilion: Sequence[Level], p: Proportions, width: float,
) -> Facets:
    """A step cut from the levels where its tiers end, from the girdle up and down."""
    half = p.girdle / 2 * width
    planes = [upright("girdle", a, b) for a, b in zip(girdle, [*girdle[1:], girdle[0]], strict=True)]
    names = {1: "crown step", -1: "pavilion step"}
    for up, rings in ((1, crown), (-1, pavilion)):
        near: Level = (girdle, 0.0)
        for far in rings:
            planes += tier(names[up], girdle, near, far, up, half)
            near = far
    planes.append(Plane("table", (0.0, 0.0, 1.0), half + p.crown * width))
    if p.culet > 0:
        planes.append(Plane("culet", (0.0, 0.0, -1.0), half + p.pavilion * width))
    reach = max(abs(v) for q in girdle for v in q) + p.depth * width
    return from_planes(planes, 2 * reach)


def first_angle(tiers: Sequence[float], p: Proportions) -> float:
    """Degrees of the pavilion tier next to the girdle, across the width."""
    steep = tiers[0] / (sum(tiers) / len(tiers))
    return math.degrees(math.atan2(2 * p.pavilion * steep, 1 - p.culet))
