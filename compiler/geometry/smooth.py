"""A flowing curve through spots: a cubic spline, its curvature even from spot to spot.

Steps of the parameter are the chords (fourth-order accurate for curves: Floater and Surazhsky,
Parameterization for curve interpolation, 2006, from memory). An open curve starts and ends along
the circle through its first and last three spots, so that three spots make an arch.
"""

from __future__ import annotations

import numpy as np


def smooth(points: np.ndarray, closed: bool, count: int = 48) -> np.ndarray:
    """A curve (m, 3) through ``points`` (n, 3), no two neighbours alike, in ``count`` chords from
    one to the next; a closed one does not repeat its first point."""
    if len(points) == 2:
        return points
    ring = np.concatenate([points, points[:1]]) if closed else points
    steps = np.linalg.norm(np.diff(ring, axis=0), axis=1)
    speeds = _speeds(ring, steps, closed)
    share = (np.arange(count) / count)[:, None]
    parts = []
    for k, step in enumerate(steps):
        start, end = ring[k], ring[k + 1]
        out, in_ = speeds[k] * step, speeds[k + 1] * step
        rest = 2 * (start - end) + out + in_
        bend = 3 * (end - start) - 2 * out - in_
        parts.append(start + share * (out + share * (bend + share * rest)))
    path = np.concatenate(parts)
    return path if closed else np.concatenate([path, points[-1:]])


def _speeds(ring: np.ndarray, steps: np.ndarray, closed: bool) -> np.ndarray:
    """The way and speed at each spot, (n, 3), by which the second derivative goes through."""
    count = len(ring)
    slopes = np.diff(ring, axis=0) / steps[:, None]
    rows, right = np.zeros((count, count)), np.zeros((count, 3))
    for k in range(1, count - 1):
        before, after = steps[k - 1], steps[k]
        rows[k, k - 1 : k + 2] = after, 2 * (before + after), before
        right[k] = 3 * (after * slopes[k - 1] + before * slopes[k])
    if closed:
        before, after = steps[-1], steps[0]
        rows[0, [count - 2, 0, 1]] = after, 2 * (before + after), before
        right[0] = 3 * (after * slopes[-1] + before * slopes[0])
        rows[-1, [0, -1]] = 1.0, -1.0
    else:
        rows[0, 0] = rows[-1, -1] = 1.0
        right[0], right[-1] = _at_end(ring[:3]), -_at_end(ring[:-4:-1])
    return np.linalg.solve(rows, right)


def _at_end(spots: np.ndarray) -> np.ndarray:
    """The way and speed at the first of three spots on their circle, its arc for its chord."""
    chord, whole = spots[1] - spots[0], spots[2] - spots[0]
    normal = np.cross(chord, whole)
    size = float(np.linalg.norm(normal))
    step = float(np.linalg.norm(chord))
    if size < 1e-9 * step * float(np.linalg.norm(whole)) or not size:
        return np.asarray(chord / step)
    square = (whole @ whole) * chord - (chord @ chord) * whole
    centre = np.cross(normal, square) / (2 * size**2)  # from the first spot
    radius = float(np.linalg.norm(centre))
    way = np.cross(normal, -centre) / (size * radius)
    half = np.arcsin(min(1.0, step / (2 * radius)))
    if chord @ way < 0:  # the first two spots are more than half a circle apart
        half = np.pi - half
    return np.asarray(way * half / np.sin(half)) if np.sin(half) > 0.05 else chord / step
