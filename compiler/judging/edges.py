"""How far points lie inside a flat outline: exact for circles and bars, traced for the rest."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace

if TYPE_CHECKING:
    from ..bench.feature import Feature

TRACED = 0.004  # mm, chord error where the outline is traced


def inside_by(outline: tuple[Any, ...], points: np.ndarray) -> np.ndarray:
    """Distance from each of ``points`` (n, 2) to the outline, mm: positive inside, (n,)."""
    kind, *figures = outline
    if kind == "circle":
        inside: np.ndarray = figures[0] / 2 - np.linalg.norm(points, axis=1)
        return inside
    if kind == "rectangle":
        return _inside_bar(points, *figures)
    return inside_loops([trace(outline, TRACED)], points)


@lru_cache(maxsize=256)
def reach(outline: tuple[Any, ...]) -> float:
    """How far the outline reaches from its own origin, mm: what is farther is outside."""
    return float(np.linalg.norm(trace(outline, TRACED), axis=1).max())


def depths_on(body: Feature, spots: np.ndarray, size: float, near: float, *heights: float) -> np.ndarray:
    """How far inside the edge of a flat body each of some spots (n, 3) lies that are ``near`` one of some
    heights of it, mm (n,); no number for what does not lie on it, or is more than its own ``size`` off."""
    found = np.full(len(spots), np.nan)
    assert body.outline is not None
    for frame in body.frames[:50]:
        local = fr.apply(fr.inverse(frame), spots)
        on = np.abs(local[:, 2, None] - heights).min(axis=1) < near
        on &= np.hypot(local[:, 0], local[:, 1]) < reach(body.outline) + size
        if on.any():
            depth = inside_by(body.outline, local[on, :2])
            found[on] = np.fmax(found[on], np.where(depth > -size, depth, np.nan))
    return found


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
