"""Gaps and overlaps between two solids."""

from __future__ import annotations

import numpy as np

from .closest import between_triangles
from .kinds import Floats, Solid
from .mass import volume_and_centre
from .skin import Skin, from_manifold


def gap(a: Solid, b: Solid, limit: float) -> tuple[float, tuple[float, float, float] | None]:
    """Smallest gap in mm between two solids, up to `limit`, and the middle of it.

    (limit, None) when they are farther apart; 0 when they touch or overlap, with the middle of
    the overlap or a point of touch (None when one lies wholly in the other's face). Exact for
    the meshes. The kernel's search is steep in its reach, so an upper bound goes in first.
    """
    one, two = from_manifold(a), from_manifold(b)
    if not len(one.triangles) or not len(two.triangles) or _apart(one, two) >= limit:
        return limit, None
    reach = min(limit, _bound(one, two) * (1 + 1e-9) + 1e-9)
    figure = float(a.min_gap(b, reach))
    if figure <= 0:
        shared = a ^ b
        volume, centre = volume_and_centre(shared)
        if volume > 0:
            return 0.0, _point(centre)
    if figure >= limit:
        return limit, None
    return figure, _closest(one, two, figure)


def overlap(a: Solid, b: Solid) -> float:
    """Volume that two solids share, mm3 (the kernel's exact intersection)."""
    return float((a ^ b).volume())


def _apart(one: Skin, two: Skin) -> float:
    """Distance between the boxes of two skins: never more than their gap."""
    (low, high), (other_low, other_high) = one.box, two.box
    return float(np.linalg.norm(np.maximum(np.maximum(other_low - high, low - other_high), 0)))


def _bound(one: Skin, two: Skin) -> float:
    """Distance between some two points of the skins: never less than their gap."""
    a, b = one.points[:: 1 + len(one.points) // 256], two.points[:: 1 + len(two.points) // 256]
    off = ((a[:, None] - b[None]) ** 2).sum(axis=2)
    at, best = a[int(np.argmin(off)) // len(b)], float(off.min())
    for points in (two.points, one.points, two.points, one.points):
        go = ((points - at) ** 2).sum(axis=1)
        at, best = points[int(np.argmin(go))], min(best, float(go.min()))
    return float(np.sqrt(best))


def _closest(one: Skin, two: Skin, figure: float) -> tuple[float, float, float] | None:
    """Middle of the closest two points, knowing how far apart they are."""
    reach = figure * (1 + 1e-6) + 1e-6
    low, high = two.box
    corners = one.corners
    near = np.all(corners.min(1) <= high + reach, 1) & np.all(corners.max(1) >= low - reach, 1)
    mine = np.flatnonzero(near)
    row, face = two.grid.near(corners[mine].min(1) - reach, corners[mine].max(1) + reach)
    best: tuple[float, Floats | None] = (np.inf, None)
    for start in range(0, len(row), 200_000):
        part = slice(start, start + 200_000)
        off, p, q = between_triangles(corners[mine[row[part]]], two.corners[face[part]])
        i = int(np.argmin(off))
        if off[i] < best[0]:
            best = (float(off[i]), (p[i] + q[i]) / 2)
    return None if best[1] is None else _point(best[1])


def _point(at: Floats) -> tuple[float, float, float]:
    """Three plain numbers."""
    x, y, z = at.tolist()
    return x, y, z
