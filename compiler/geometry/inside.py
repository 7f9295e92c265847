"""How far points lie inside closed polygons, and from edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .parallels import next_of

_AT_ONCE = 400_000  # points times edges


def inside_loops(loops: Sequence[np.ndarray], points: np.ndarray) -> np.ndarray:
    """Distance from each of ``points`` (n, 2) to the nearest edge of closed loops (m, 2), mm: (n,),
    positive inside; in a loop within another it is outside again."""
    start = np.concatenate(loops)
    end = np.concatenate([next_of(loop) for loop in loops])
    each = max(1, _AT_ONCE // max(1, len(start)))
    parts = [_inside(start, end, points[k : k + each]) for k in range(0, len(points), each)]
    return np.concatenate(parts) if parts else np.zeros(0)


def _inside(start: np.ndarray, end: np.ndarray, points: np.ndarray) -> np.ndarray:
    gap = gaps(points, start, end - start).min(axis=1)
    return np.where(within_edges(start, end, points), gap, -gap)


def gaps(points: np.ndarray, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    """How far points (n, d) lie from edges, each its ``way`` from its ``start``, both (m, d), mm: (n, m)."""
    off = points[:, None, :] - start[None]
    square = np.maximum((way * way).sum(axis=1), 1e-18)
    along = np.clip((off * way[None]).sum(axis=2) / square, 0.0, 1.0)
    return np.asarray(np.linalg.norm(off - along[..., None] * way[None], axis=2))


def within_edges(start: np.ndarray, end: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Which of ``points`` (n, 2) lie inside closed loops, whose edges go from ``start`` to ``end`` (m, 2) in
    any order, (n,). Even-odd: how often a ray to the right crosses the loops."""
    # The very figures of the next corner, not a sum: a ray through a corner counts it once.
    y, low, high = points[:, None, 1], start[None, :, 1], end[None, :, 1]
    crossing = (low > y) != (high > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = start[None, :, 0] + (y - low) / (high - low) * (end - start)[None, :, 0]
    count = (crossing & (points[:, None, 0] < x)).sum(axis=1)
    return np.asarray(count % 2 == 1)
