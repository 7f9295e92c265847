"""Closest points: a point to a triangle, a segment to a segment, a triangle to a triangle.

Exact to rounding, all row by row on whole arrays. Touching or crossing triangles give 0 only
where an edge or corner of one meets the other; crossing through the middle is caught because
an edge of one then passes through the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .kinds import Flags, Floats, cross, dot, length

if TYPE_CHECKING:
    from .skin import Skin


def on_triangle(point: Floats, corners: Floats) -> Floats:
    """Closest point of each triangle (n, 3, 3) to each point (n, 3)."""
    return on_face(point, corners)[0]


def on_face(point: Floats, corners: Floats) -> tuple[Floats, Flags]:
    """Closest point of each triangle, and whether it is inside the face (not on its rim)."""
    a = corners[:, 0]
    one, two, go = corners[:, 1] - a, corners[:, 2] - a, point - a
    d11, d12, d22 = dot(one, one), dot(one, two), dot(two, two)
    g1, g2 = dot(go, one), dot(go, two)
    size = d11 * d22 - d12 * d12
    safe = np.where(size > 0, size, 1.0)
    v, w = (d22 * g1 - d12 * g2) / safe, (d11 * g2 - d12 * g1) / safe
    inner = (v >= 0) & (w >= 0) & (v + w <= 1) & (size > 0)
    found = a + v[:, None] * one + w[:, None] * two
    rest = np.flatnonzero(~inner)
    if len(rest):
        found[rest] = _on_rim(point[rest], corners[rest])
    return found, np.asarray(inner, dtype=bool)


def _on_rim(point: Floats, corners: Floats) -> Floats:
    """Closest point of the three edges of each triangle."""
    best = np.full(len(point), np.inf)
    found = np.zeros_like(point)
    for i in range(3):
        start, edge = corners[:, i], corners[:, (i + 1) % 3] - corners[:, i]
        size = dot(edge, edge)
        t = np.clip(dot(point - start, edge) / np.where(size > 0, size, 1.0), 0.0, 1.0)
        spot = start + t[:, None] * edge
        off = dot(point - spot, point - spot)
        closer = off < best
        best[closer] = off[closer]
        found[closer] = spot[closer]
    return found


def between_segments(
    a: Floats, along_a: Floats, b: Floats, along_b: Floats
) -> tuple[Floats, Floats]:
    """Closest points of segments a..a+along_a and b..b+along_b, rows of (n, 3)."""
    r = a - b
    aa, bb, ab = dot(along_a, along_a), dot(along_b, along_b), dot(along_a, along_b)
    ar, br = dot(along_a, r), dot(along_b, r)
    size = aa * bb - ab * ab
    level = size > 1e-14 * aa * bb
    s = np.where(level, np.clip((ab * br - ar * bb) / np.where(level, size, 1), 0, 1), 0.0)
    t = np.clip((ab * s + br) / np.where(bb > 0, bb, 1), 0, 1)
    s = np.clip((ab * t - ar) / np.where(aa > 0, aa, 1), 0, 1)
    return a + s[:, None] * along_a, b + t[:, None] * along_b


def between_triangles(one: Floats, two: Floats) -> tuple[Floats, Floats, Floats]:
    """Closest points of triangle pairs (n, 3, 3): (distance (n,), on one, on two (n, 3))."""
    best = np.full(len(one), np.inf)
    spots = np.zeros((2, len(one), 3))
    for p, q in _tries(one, two):
        off = dot(p - q, p - q)
        closer = off < best
        best[closer] = off[closer]
        spots[0, closer], spots[1, closer] = p[closer], q[closer]
    for i in range(3):
        _pierce(one, two, i, best, spots)
        _pierce(two, one, i, best, spots[::-1])
    return np.sqrt(best), spots[0], spots[1]


def _tries(one: Floats, two: Floats) -> list[tuple[Floats, Floats]]:
    """Fifteen pairs of points, the closest of which is the closest of the triangles apart."""
    tries = []
    for i in range(3):
        tries.append((one[:, i], on_triangle(one[:, i], two)))
        tries.append((on_triangle(two[:, i], one), two[:, i]))
        edge = one[:, (i + 1) % 3] - one[:, i]
        for j in range(3):
            other = two[:, (j + 1) % 3] - two[:, j]
            tries.append(between_segments(one[:, i], edge, two[:, j], other))
    return tries


def _pierce(one: Floats, two: Floats, i: int, best: Floats, spots: Floats) -> None:
    """Where edge i of the first triangle passes through the second, the distance is 0."""
    start, edge = one[:, i], one[:, (i + 1) % 3] - one[:, i]
    out = cross(two[:, 1] - two[:, 0], two[:, 2] - two[:, 0])
    slope = dot(edge, out)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = dot(two[:, 0] - start, out) / slope
    rows = np.flatnonzero((t >= 0) & (t <= 1) & (best > 0))
    spot = start[rows] + t[rows, None] * edge[rows]
    held = np.ones(len(rows), dtype=bool)
    for j in range(3):
        side = cross(two[rows, (j + 1) % 3] - two[rows, j], spot - two[rows, j])
        held &= dot(side, out[rows]) >= 0
    rows, spot = rows[held], spot[held]
    best[rows] = 0.0
    spots[0, rows], spots[1, rows] = spot, spot


def nearest(skin: Skin, spot: Floats) -> tuple[float, int]:
    """How far the closest face of a skin is from a spot (3,), mm, and its number."""
    at, reach = spot[None], 0.5
    low, high = skin.box
    far = float(length(np.maximum(np.maximum(low - spot, spot - high), 0.0)))
    while True:
        row, face = skin.grid.near(at - far - reach, at + far + reach)
        if len(face):
            go = on_triangle(at[row], skin.corners[face]) - at[row]
            off = dot(go, go)
            best = int(np.argmin(off))
            if off[best] <= (far + reach) ** 2:
                return float(np.sqrt(off[best])), int(face[best])
        if reach > 2 * skin.size + far:
            return float("inf"), 0
        reach *= 3
