"""The circle that spots in space lie on. Lengths mm."""

from __future__ import annotations

import numpy as np


def circle_near(points: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Middle (3,), unit axis (3,) and radius of the circle nearest to spots (n, 3), two or more: by least
    squares in the plane they lie nearest to, x^2 + y^2 = 2 a x + 2 b y + c."""
    mean = points.mean(axis=0)
    ways = np.linalg.svd(points - mean, full_matrices=len(points) < 3)[2]
    flat = (points - mean) @ ways[:2].T
    terms = np.column_stack((2 * flat, np.ones(len(flat))))
    a, b, c = np.linalg.lstsq(terms, (flat**2).sum(axis=1), rcond=None)[0]
    return mean + a * ways[0] + b * ways[1], ways[2], float(np.sqrt(max(c + a * a + b * b, 0.0)))


def circumcentre(a: np.ndarray, b: np.ndarray, c: np.ndarray, flat: float) -> np.ndarray | None:
    """The middle of the circle through three spots (k,); None where they lie in line, nearly: the square of
    the sine between the ways from the first to the others is ``flat`` or less."""
    u, v = b - a, c - a
    uu, vv, uv = u @ u, v @ v, u @ v
    square = uu * vv - uv * uv
    if square <= flat * uu * vv:
        return None
    return np.asarray(a + (vv * (uu - uv) * u + uu * (vv - uv) * v) / (2 * square))
