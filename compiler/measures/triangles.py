"""Figures of triangles by their corners (m, 3, 3), and meshes without idle points."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .kinds import Flags, Floats, Ints, cross, length


def crosses(corners: Floats) -> Floats:
    """The normal (m, 3) of each triangle, outward, as long as twice its area."""
    start = corners[:, 0]
    return cross(corners[:, 1] - start, corners[:, 2] - start)


def spread(corners: Floats, parts: int) -> Floats:
    """Spots all over triangles, corners and edges too, each edge in ``parts`` parts: (m, k, 3)."""
    i, j = (one.ravel() for one in np.mgrid[0 : parts + 1, 0 : parts + 1])
    shares = np.stack([i, j, parts - i - j], axis=1)[i + j <= parts] / max(parts, 1)
    return np.asarray(shares @ corners)


def areas(corners: Floats) -> Floats:
    """The area of each triangle, (m,)."""
    return 0.5 * length(crosses(corners))


def volume(points: Floats, triangles: Ints) -> float:
    """The volume within closed triangles (divergence theorem); 0 for none."""
    if not len(triangles):
        return 0.0
    near = points.astype(np.float64) - points.mean(axis=0, dtype=np.float64)  # large figures cost digits
    a, b, c = triangles.T
    total = np.zeros(len(triangles))
    for x, y, z in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):  # column by column: rows of three are slow
        first, second, third = (np.ascontiguousarray(near[:, k]) for k in (x, y, z))
        total += first[a] * (second[b] * third[c] - third[b] * second[c])
    return float(total.sum() / 6.0)


def used(points: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """Points and triangles without the points that no triangle has; the rest keep their order."""
    there = np.zeros(len(points), dtype=bool)
    there[triangles] = True
    if there.all():
        return points, triangles
    place = np.cumsum(there) - 1
    return points[there], np.asarray(place[triangles], triangles.dtype)


def whole(triangles: Ints) -> Flags:
    """Which triangles (m, 3) have three different corners, (m,)."""
    a, b, c = triangles.T
    return np.asarray((a != b) & (b != c) & (c != a))


def together(meshes: Sequence[tuple[Floats, Ints]]) -> tuple[Floats, Ints]:
    """Meshes, each points (n, 3) and triangles (m, 3), as one."""
    starts = np.cumsum([0, *(len(points) for points, _ in meshes)])
    faces = [triangles + start for (_, triangles), start in zip(meshes, starts, strict=False)]
    return np.concatenate([points for points, _ in meshes]), np.concatenate(faces)
