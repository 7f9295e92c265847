"""Straight-sided bodies over a flat outline: bars, discs, plates, outlines pierced through."""

from __future__ import annotations

import numpy as np

from ..geometry.outlines import Outline, trace
from ..measures.kinds import flat_cross
from .mesh import SolidMesh, smooth_turns

# How much finer a curve is traced to see how it bends between the points of a mesh.
FINER = 64


def prism(outline: Outline, low: float, high: float, tolerance: float) -> SolidMesh:
    """The body between heights ``low`` and ``high`` mm over an outline of one loop."""
    from manifold3d import triangulate

    points = trace(outline, tolerance)

    count = len(points)
    base = np.concatenate([points, np.full((count, 1), low)], axis=1)
    top = np.concatenate([points, np.full((count, 1), high)], axis=1)
    cap = np.asarray(triangulate([points]), dtype=np.int64)
    here = np.arange(count)
    after = np.roll(here, -1)
    sides = np.stack([here, after, after + count, here, after + count, here + count], axis=1).reshape(-1, 3)
    triangles = np.concatenate([sides, cap + count, cap[:, ::-1]])
    face = np.concatenate([np.repeat(here, 2), np.full(len(cap), count), np.full(len(cap), count + 1)])
    chord = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    bend = bends(outline, points, tolerance)
    lift = np.concatenate([chord**2 * bend / 12.0, [0.0, 0.0]])
    return SolidMesh(np.concatenate([base, top]), triangles, face, lift)


def bends(outline: Outline, loop: np.ndarray, tolerance: float) -> np.ndarray:
    """Curvature (n,), 1/mm, that gives each chord of an outline's ``loop`` (n, 2), traced to
    ``tolerance``, its true mean distance to the curve: chord^2 x curvature / 12."""
    if outline[0] == "polygon":
        return np.zeros(len(loop))
    fine = loop if outline[0] == "drawing" else trace(outline, tolerance / FINER)
    if len(fine) <= len(loop):  # known by its points alone: a drawing, a line of one's own
        return smooth_turns(loop)
    gap = ((loop[:, None] - fine[None]) ** 2).sum(axis=2)
    first = gap.argmin(axis=1)
    after = np.roll(first, -1)
    beyond = np.roll(fine, -1, axis=0)
    own = np.linalg.norm(beyond - fine, axis=1) ** 3 * smooth_turns(fine) / 6.0
    swept = np.concatenate([[0.0], np.cumsum(flat_cross(fine, beyond) + own)])
    way = swept[after] - swept[first] + np.where(after < first, swept[-1], 0.0)
    a, b, near = loop, np.roll(loop, -1, axis=0), fine[first]
    area = 0.5 * (flat_cross(a, near) + way + flat_cross(fine[after], b) + flat_cross(b, a))
    return np.asarray(12.0 * area / np.linalg.norm(b - a, axis=1) ** 3)
