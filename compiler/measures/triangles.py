"""Figures of triangles by their corners (m, 3, 3), and meshes without idle points."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .kinds import Floats, Ints, cross, dot, length


def crosses(corners: Floats) -> Floats:
    """The normal (m, 3) of each triangle, outward, as long as twice its area."""
    start = corners[:, 0]
    return cross(corners[:, 1] - start, corners[:, 2] - start)


def areas(corners: Floats) -> Floats:
    """The area of each triangle, (m,)."""
    return 0.5 * length(crosses(corners))


def volume(corners: Floats) -> float:
    """The volume within closed triangles (divergence theorem); 0 for none."""
    if not len(corners):
        return 0.0
    near = corners - corners.mean(axis=(0, 1))  # so that large figures cost no digits
    return float(dot(near[:, 0], cross(near[:, 1], near[:, 2])).sum() / 6.0)


def used(points: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """Points and triangles without the points that no triangle has; the rest keep their order."""
    there = np.zeros(len(points), dtype=bool)
    there[triangles] = True
    if there.all():
        return points, triangles
    place = np.cumsum(there) - 1
    return points[there], np.asarray(place[triangles], triangles.dtype)


def together(meshes: Sequence[tuple[Floats, Ints]]) -> tuple[Floats, Ints]:
    """Meshes, each points (n, 3) and triangles (m, 3), as one."""
    starts = np.cumsum([0, *(len(points) for points, _ in meshes)])
    faces = [triangles + start for (_, triangles), start in zip(meshes, starts, strict=False)]
    return np.concatenate([points for points, _ in meshes]), np.concatenate(faces)
