"""Cabochon: half an ellipsoid over a short upright wall, on a flat back.

Its origin lies on the back, so z runs from 0 to the full height; the wall is the girdle."""

from __future__ import annotations

import math

import numpy as np

from .curves import Arc, divided, trace
from .parts import Proportions, Shape, Size
from .solid import Facets

QUARTERS = ("main",) * 4


def _arcs(size: Size) -> list[Arc]:
    whole = Arc(0.0, 0.0, size.length / 2, size.width / 2, 0.0, 2 * math.pi)
    return divided(whole, QUARTERS)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: back, wall, rings of the dome, and a fan under its top."""
    return domed(trace(_arcs(size), tolerance, 2), size, p, tolerance)


def domed(rim: np.ndarray, size: Size, p: Proportions, tolerance: float) -> Facets:
    """A dome over any ``rim`` (n, 2): each ring of it is the rim drawn in."""
    wall, dome = p.girdle * size.width, p.crown * size.width
    rise = Arc(0.0, 0.0, size.length / 2, dome, 0.0, math.pi / 2)
    steps = len(rise.points(tolerance, 2))
    turns = [math.pi / 2 * k / steps for k in range(steps)]
    rings = [(math.cos(t), wall + dome * math.sin(t)) for t in turns]
    if wall > 0:
        rings.insert(0, (1.0, 0.0))
    return stack(rim, rings, wall + dome)


def stack(rim: np.ndarray, rings: list[tuple[float, float]], top: float) -> Facets:
    """Rings of the outline at (share, z), closed flat below and to a point at the top."""
    points, faces, names = _rings(rim, rings)
    n = len(rim)
    a, tip = (len(rings) - 1) * n, len(rings) * n
    faces += [(a + i, a + (i + 1) % n, tip) for i in range(n)]
    return Facets(np.vstack([points, [[0.0, 0.0, top]]]), tuple(faces), (*names, *["dome"] * n))


def _rings(
    rim: np.ndarray, rings: list[tuple[float, float]]
) -> tuple[np.ndarray, list[tuple[int, ...]], list[str]]:
    """Points of rings of the outline at (share, z), the faces between them and the flat one below."""
    n = len(rim)
    points = np.vstack([np.column_stack([rim * share, np.full(n, z)]) for share, z in rings])
    faces: list[tuple[int, ...]] = [tuple(range(n - 1, -1, -1))]
    names = ["back"]
    for k in range(len(rings) - 1):
        a = k * n
        faces += [(a + i, a + (i + 1) % n, a + n + (i + 1) % n, a + n + i) for i in range(n)]
        names += ["girdle" if rings[k + 1][0] == 1.0 else "dome"] * n
    return points, faces, names


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    return trace(_arcs(size), tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """Four prongs, at the quarters between the axes."""
    whole = Arc(0.0, 0.0, size.length / 2, size.width / 2, math.pi / 4, 9 * math.pi / 4)
    rows = divided(whole, QUARTERS)
    return [(*a.at(a.t0), a.outward() % 360, False) for a in rows]


def bearing(p: Proportions) -> float:
    """0 degrees: the flat back sits on a level bearing."""
    return 0.0


class Over:
    """The shape of a cabochon over the outline of another cut, highest over the middle of its size.

    Its origin lies on the back, too."""

    def __init__(self, base: Shape) -> None:
        self.outline, self.corners, self.bearing = base.outline, base.corners, bearing

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The mesh: back, wall and dome."""
        return domed(self.outline(size, p, tolerance), size, p, tolerance)
