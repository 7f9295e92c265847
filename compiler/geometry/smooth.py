"""A flowing curve through spots: a cubic spline, its curvature even from spot to spot.

Steps of the parameter are the chords (fourth-order accurate for curves: Floater and Surazhsky,
Parameterization for curve interpolation, 2006, from memory). An open curve starts and ends the way it is
told, else along the circle through its first and last three spots, so that three spots make an arch."""

from __future__ import annotations

import numpy as np

MOST_SPEED = 2.5  # of an end told to set out nearly away from where it goes

Way = np.ndarray | None


def smooth(
    points: np.ndarray, closed: bool, count: int = 48, ways: tuple[Way, Way] = (None, None)
) -> np.ndarray:
    """A curve (m, 3) through ``points`` (n, 3), no two neighbours alike, in ``count`` chords from
    one to the next; a closed one does not repeat its first point, an open one sets out and arrives along
    the unit ``ways`` (3,) that are given."""
    if len(points) == 2:
        if ways[0] is None and ways[1] is None:
            return points
        ways = _arch(points, *ways)
    ring = np.concatenate([points, points[:1]]) if closed else points
    steps = np.linalg.norm(np.diff(ring, axis=0), axis=1)
    speeds = _speeds(ring, steps, closed, ways)
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


def _arch(points: np.ndarray, out: Way, in_: Way) -> tuple[Way, Way]:
    """Both ways of a run between two spots, of which one is known: as an arc has them."""
    chord = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    one, two = (None if way is None else 2 * (way @ chord) * chord - way for way in (in_, out))
    return (one if out is None else out), (two if in_ is None else in_)


def _along(way: np.ndarray, chord: np.ndarray) -> np.ndarray:
    """The speed along ``way`` at an end whose first ``chord`` (3,) it leaves: one run, it is an arc's."""
    turn = (1.0 + float(way @ chord / np.linalg.norm(chord))) / 2  # the square of the cosine of half of it
    return np.asarray(way / max(turn, 1 / MOST_SPEED))


def _speeds(ring: np.ndarray, steps: np.ndarray, closed: bool, ways: tuple[Way, Way]) -> np.ndarray:
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
        out, in_ = ways
        right[0] = _at_end(ring[:3]) if out is None else _along(out, slopes[0])
        right[-1] = -_at_end(ring[:-4:-1]) if in_ is None else _along(in_, slopes[-1])
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
