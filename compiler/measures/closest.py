"""The closest point of a triangle, and of a skin. Exact to rounding, row by row on whole arrays."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .kinds import Flags, Floats, Ints, dot, length

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
        found[rest] = on_rim(point[rest], corners[rest])[0]
    return found, np.asarray(inner, dtype=bool)


def on_rim(point: Floats, corners: Floats) -> tuple[Floats, Ints, Floats]:
    """Closest point of the three edges of each triangle, the edge it is on, how far along that (0 to 1)."""
    best, found = np.full(len(point), np.inf), np.zeros_like(point)
    edge, share = np.zeros(len(point), dtype=np.int64), np.zeros(len(point))
    for i in range(3):
        start, way = corners[:, i], corners[:, (i + 1) % 3] - corners[:, i]
        size = dot(way, way)
        t = np.clip(dot(point - start, way) / np.where(size > 0, size, 1.0), 0.0, 1.0)
        spot = start + t[:, None] * way
        off = dot(point - spot, point - spot)
        closer = off < best
        best[closer], found[closer], edge[closer], share[closer] = off[closer], spot[closer], i, t[closer]
    return found, edge, share


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
