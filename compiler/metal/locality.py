"""Which boxes meet, and how to sort things into sets in which none meet. Boxes are (n, 6) mm:
least x, y, z, then most x, y, z."""

from __future__ import annotations

import numpy as np

from ..measures.kinds import spread

# Boxes nearer than this count as meeting, mm.
NEAR = 1e-6
# More pairs than this are not listed; the callers then take the slower, safe way.
PAIRS_LIMIT = 8_000_000
# Turns of the search for a direction that keeps two hulls apart.
TURNS = 6


def placed_boxes(low: np.ndarray, high: np.ndarray, frames: np.ndarray) -> np.ndarray:
    """Boxes (n, 6) that hold the box ``low`` to ``high`` at every frame (n, 3, 4)."""
    middle, half = (low + high) / 2, (high - low) / 2
    centre = frames[:, :, :3] @ middle + frames[:, :, 3]
    reach = np.abs(frames[:, :, :3]) @ half
    return np.concatenate([centre - reach, centre + reach], axis=1)


def around(boxes: np.ndarray) -> np.ndarray:
    """The box (6,) that holds all ``boxes``."""
    return np.concatenate([boxes[:, :3].min(axis=0), boxes[:, 3:].max(axis=0)])


def meeting(boxes: np.ndarray, box: np.ndarray) -> np.ndarray:
    """Which of ``boxes`` meet the one ``box``, (n,) bool."""
    return np.asarray(((boxes[:, :3] <= box[3:] + NEAR) & (boxes[:, 3:] >= box[:3] - NEAR)).all(axis=1))


def met(boxes: np.ndarray, others: np.ndarray) -> np.ndarray | None:
    """Which of ``boxes`` meet any of ``others``, (n,) bool; None when too many are close."""
    found = np.zeros(len(boxes), dtype=bool)
    near = np.flatnonzero(meeting(boxes, around(others)))
    if len(near) == 0:
        return found
    if len(near) * len(others) > PAIRS_LIMIT:
        return None
    for other in others if len(others) <= len(near) else ():
        found[near] |= meeting(boxes[near], other)
    if len(others) > len(near):
        for index in near:
            found[index] = meeting(others, boxes[index]).any()
    return found


def pairs(boxes: np.ndarray) -> np.ndarray | None:
    """All pairs (k, 2) of boxes that meet; None when there are too many to list."""
    best: tuple[int, np.ndarray, np.ndarray] | None = None
    for axis in range(3):
        order = np.argsort(boxes[:, axis], kind="stable")
        low = boxes[order, axis]
        ends = np.searchsorted(low, boxes[order, axis + 3] + NEAR, side="right")
        counts = np.maximum(ends - np.arange(len(boxes)) - 1, 0)
        if best is None or counts.sum() < best[0]:
            best = int(counts.sum()), order, counts
    if best is None or best[0] > PAIRS_LIMIT:
        return None
    _, order, counts = best
    first, second = spread(counts, np.arange(len(boxes)) + 1)
    a, b = order[first], order[second]
    meet = ((boxes[a, :3] <= boxes[b, 3:] + NEAR) & (boxes[b, :3] <= boxes[a, 3:] + NEAR)).all(axis=1)
    return np.stack([a[meet], b[meet]], axis=1)


def apart(points: np.ndarray, frames: np.ndarray, others: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Which pairs of copies surely do not meet, (n,) bool: ``points`` (k, 3) at frame i of ``frames`` (n, 3,
    4) against ``others`` (m, 3) at frame i of ``at``.

    A direction is sought in which the one lies wholly beyond the other, by nearing the point of their hulls'
    difference that is closest to zero (Frank and Wolfe's method); a pair that has none after a few turns
    counts as meeting."""
    found = np.zeros(len(frames), dtype=bool)
    left = np.arange(len(frames))
    way = placed_points(points.mean(axis=0), frames) - placed_points(others.mean(axis=0), at)
    for _ in range(TURNS):
        reach = _furthest(points, frames[left], -way) - _furthest(others, at[left], way)
        clear = (reach * way).sum(axis=1) > NEAR * np.linalg.norm(way, axis=1)
        found[left[clear]] = True
        left, way, reach = left[~clear], way[~clear], reach[~clear]
        step = reach - way
        size = np.maximum((step * step).sum(axis=1), 1e-30)
        way = way + np.clip(-(way * step).sum(axis=1) / size, 0.0, 1.0)[:, None] * step
    return found


def placed_points(point: np.ndarray, frames: np.ndarray) -> np.ndarray:
    """One point, or one for each frame, at the frames, (n, 3)."""
    return np.asarray((frames[:, :, :3] @ point[..., None])[..., 0] + frames[:, :, 3])


def _furthest(points: np.ndarray, frames: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Of ``points`` at each frame the one furthest in the direction of that row of ``way``."""
    inside = (way[:, None] @ frames[:, :, :3])[:, 0]
    return placed_points(points[np.argmax(inside @ points.T, axis=1)], frames)


def colours(found: np.ndarray, count: int) -> np.ndarray:
    """A number for each of ``count`` things such that no two of one number are among the pairs
    ``found`` (k, 2). Greedy in the given order, so the same things always get the same numbers."""
    result = np.zeros(count, dtype=np.int64)
    if len(found) == 0:
        return result
    low, high = found.min(axis=1), found.max(axis=1)
    order = np.lexsort((low, high))
    low, high = low[order], high[order]
    starts = np.searchsorted(high, np.arange(count + 1))
    for index in np.unique(high):
        used = set(result[low[starts[index] : starts[index + 1]]].tolist())
        colour = 0
        while colour in used:
            colour += 1
        result[index] = colour
    return result
