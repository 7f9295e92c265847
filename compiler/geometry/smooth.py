"""Smooth curves through given points."""

from __future__ import annotations

from typing import Any

import numpy as np


def smooth(points: np.ndarray, closed: bool, steps: int = 48) -> np.ndarray:
    """A centripetal Catmull-Rom curve through the points (the usual textbook form)."""
    if closed:
        ring = np.concatenate([points[-1:], points, points[:2]])
    else:
        ring = np.concatenate(
            [2 * points[:1] - points[1:2], points, 2 * points[-1:] - points[-2:-1]]
        )
    spots = range(len(ring) - 3)
    curve = [_segment(ring[k], ring[k + 1], ring[k + 2], ring[k + 3], steps) for k in spots]
    path = np.concatenate(curve)
    return path if closed else np.concatenate([path, points[-1:]])


def _segment(a: Any, b: Any, c: Any, d: Any, steps: int) -> np.ndarray:
    knots = np.cumsum(
        [0.0, *(np.linalg.norm(q - p) ** 0.5 for p, q in ((a, b), (b, c), (c, d)))]
    )
    t0, t1, t2, t3 = knots
    t = (t1 + (t2 - t1) * np.arange(steps) / steps)[:, None]
    first = (t1 - t) / (t1 - t0) * a + (t - t0) / (t1 - t0) * b
    second = (t2 - t) / (t2 - t1) * b + (t - t1) / (t2 - t1) * c
    third = (t3 - t) / (t3 - t2) * c + (t - t2) / (t3 - t2) * d
    left = (t2 - t) / (t2 - t0) * first + (t - t0) / (t2 - t0) * second
    right = (t3 - t) / (t3 - t1) * second + (t - t1) / (t3 - t1) * third
    return (t2 - t) / (t2 - t1) * left + (t - t1) / (t2 - t1) * right
