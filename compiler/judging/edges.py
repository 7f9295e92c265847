"""How far points lie inside a flat outline: exact for circles and bars, traced for the rest."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry.outlines import trace

if TYPE_CHECKING:
    from ..bench.feature import Feature

TRACED = 0.004  # mm, chord error where the outline is traced
_AT_ONCE = 400_000  # points times edges


def inside_by(outline: tuple[Any, ...], points: np.ndarray) -> np.ndarray:
    """Distance from each of ``points`` (n, 2) to the outline, mm: positive inside, (n,)."""
    kind, *figures = outline
    if kind == "circle":
        inside: np.ndarray = figures[0] / 2 - np.linalg.norm(points, axis=1)
        return inside
    if kind == "rectangle":
        return _inside_bar(points, *figures)
    return inside_loop(trace(outline, TRACED), points)


@lru_cache(maxsize=256)
def reach(outline: tuple[Any, ...]) -> float:
    """How far the outline reaches from its own origin, mm: what is farther is outside."""
    return float(np.linalg.norm(trace(outline, TRACED), axis=1).max())


class Neighbours:
    """Flat bodies, and which of them reach near some points: most lie far away."""

    def __init__(self, bodies: Iterable[Feature]) -> None:
        self.bodies = [body for body in bodies if body.outline is not None]
        homes = [body.frames[:50, :, 3] for body in self.bodies]
        self._homes = np.concatenate(homes) if homes else np.zeros((0, 3))
        self._owner = np.repeat(np.arange(len(homes)), [len(home) for home in homes])
        far = [math.hypot(reach(b.outline or ()), b.low, b.high) for b in self.bodies]
        self._far = np.array(far)[self._owner]

    def near(self, points: np.ndarray, margin: float) -> list[Feature]:
        """The bodies, in order, with metal perhaps within ``margin`` mm of one of ``points``."""
        low, high = points.min(axis=0), points.max(axis=0)
        off = np.maximum(np.maximum(low - self._homes, self._homes - high), 0.0)
        close = np.sqrt((off * off).sum(axis=1)) < self._far + margin
        return [self.bodies[index] for index in sorted(set(self._owner[close].tolist()))]


def _inside_bar(points: np.ndarray, long: float, wide: float, corner: float) -> np.ndarray:
    """The well-known distance to a box with rounded corners."""
    over = np.abs(points) - np.array([long / 2 - corner, wide / 2 - corner])
    outside = np.linalg.norm(np.maximum(over, 0.0), axis=1)
    inside: np.ndarray = corner - outside - np.minimum(over.max(axis=1), 0.0)
    return inside


def inside_loop(loop: np.ndarray, points: np.ndarray) -> np.ndarray:
    """As ``inside_by`` for a closed polygon (m, 2)."""
    each = max(1, _AT_ONCE // max(1, len(loop)))
    parts = [_loop(loop, points[k : k + each]) for k in range(0, len(points), each)]
    return np.concatenate(parts) if parts else np.zeros(0)


def _loop(loop: np.ndarray, points: np.ndarray) -> np.ndarray:
    start, way = loop, np.roll(loop, -1, axis=0) - loop
    off = points[:, None, :] - start[None]
    square = np.maximum((way * way).sum(axis=1), 1e-18)
    along = np.clip((off * way[None]).sum(axis=2) / square, 0.0, 1.0)
    gap = np.linalg.norm(off - along[..., None] * way[None], axis=2).min(axis=1)
    return np.where(_within(loop, points), gap, -gap)


def _within(loop: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Even-odd: how often a ray to the right crosses the polygon."""
    # The very figures of the next corner, not a sum: a ray through a corner counts it once.
    y, after = points[:, None, 1], np.roll(loop, -1, axis=0)
    low, high = loop[None, :, 1], after[None, :, 1]
    way = after - loop
    crossing = (low > y) != (high > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = loop[None, :, 0] + (y - low) / (high - low) * way[None, :, 0]
    count = (crossing & (points[:, None, 0] < x)).sum(axis=1)
    odd: np.ndarray = count % 2 == 1
    return odd
