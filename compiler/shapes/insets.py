"""Loops moved into the metal point for point, so that layers of a rim can be joined."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry.outlines import Outline, signed_area
from ..geometry.parallels import left_of, tangents


def inset_loop(loop: np.ndarray, by: float) -> np.ndarray | None:
    """A loop moved in by ``by`` mm, point for point: stretches that are used up at a corner or
    a tight bend end in the spot where their neighbours meet. None when nothing is left."""
    moved = loop + by * inward(loop)
    old = np.roll(loop, -1, axis=0) - loop
    gone = np.zeros(len(loop), dtype=bool)  # edges used up
    for _ in range(len(loop)):
        edge = np.roll(moved, -1, axis=0) - moved
        turned = ((edge * old).sum(axis=1) < 1e-12) & ~gone
        if not turned.any():
            return moved if signed_area(moved) * signed_area(loop) > 0 else None
        gone |= turned
        if not _gathered(loop, moved, gone, by):
            return None
    return None


def _gathered(loop: np.ndarray, moved: np.ndarray, gone: np.ndarray, by: float) -> bool:
    """Bring the points of used-up edges to where the edges on both sides of them meet."""
    count = len(loop)
    if gone.sum() > count - 3:
        return False
    for first in np.flatnonzero(gone & ~np.roll(gone, 1)).tolist():
        number = 0
        while gone[(first + number) % count]:
            number += 1
        before, after = (first - 1) % count, (first + number) % count
        spot = _meeting(loop, before, after, by)
        if spot is None:
            return False
        moved[(first + np.arange(number + 1)) % count] = spot
    return True


def _meeting(loop: np.ndarray, first: int, second: int, by: float) -> np.ndarray | None:
    """Where two edges of a loop, moved in, cross; None for parallel ones."""
    ways, starts = [], []
    for edge in (first, second):
        way = loop[(edge + 1) % len(loop)] - loop[edge]
        way = way / np.linalg.norm(way)
        ways.append(way)
        starts.append(loop[edge] + by * np.array([-way[1], way[0]]))
    cross = ways[0][0] * ways[1][1] - ways[0][1] * ways[1][0]
    if abs(cross) < 1e-9:
        return None
    gap = starts[1] - starts[0]
    share = (gap[0] * ways[1][1] - gap[1] * ways[1][0]) / cross
    return np.asarray(starts[0] + share * ways[0])


def inward(loop: np.ndarray) -> np.ndarray:
    """The way in at each point of a loop with metal to its left: unit, or a mitre's at corners, (n, 2)."""
    first, last = (left_of(ways) for ways in tangents(loop))
    both = first + last
    return np.asarray(2.0 * both / np.maximum((both * both).sum(axis=1, keepdims=True), 1e-3))


def deepest(loops: Sequence[np.ndarray], outline: Outline, wished: float) -> float:
    """The largest inset up to ``wished`` mm that leaves a face, to about a hundredth of it."""
    if outline[0] == "rectangle":
        return min(wished, min(outline[1], outline[2]) / 2)
    if outline[0] == "circle":
        return min(wished, outline[1] / 2)
    low, high = 0.0, wished
    if _leaves_face(loops, wished):
        return wished
    for _ in range(8):
        middle = (low + high) / 2
        low, high = (middle, high) if _leaves_face(loops, middle) else (low, middle)
    return low


def _leaves_face(loops: Sequence[np.ndarray], by: float) -> bool:
    """Whether all loops moved in stay simple, apart from one another."""
    from manifold3d import CrossSection, FillRule

    moved = [inset_loop(loop, by) for loop in loops]
    if any(loop is None for loop in moved):
        return False
    area = sum(signed_area(loop) for loop in moved if loop is not None)
    kept = CrossSection([loop for loop in moved if loop is not None], FillRule.Positive)
    # Loops that cross enclose something twice, or nothing.
    return area > 0 and abs(kept.area() - area) < 1e-3 * area
