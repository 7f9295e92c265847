"""Rectangle: a flat stone of four straight sides, its corners rounded or sharp.

Its origin lies on the back, as that of a cabochon does."""

from __future__ import annotations

import math

import numpy as np

from .curves import Arc, trace
from .parts import Proportions, Size
from .solid import Facets, slab

SIGNS = (1, 1), (-1, 1), (-1, -1), (1, -1)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    x, y, r = size.length / 2, size.width / 2, min(p.corner * size.width, size.length / 2)
    if r <= 0:
        return np.array([(sx * x, sy * y) for sx, sy in SIGNS])
    arcs = [_corner(sx * (x - r), sy * (y - r), r, k) for k, (sx, sy) in enumerate(SIGNS)]
    ends = [[arc.at(arc.t1)] for arc in arcs]
    runs = [np.vstack([trace([arc], tolerance), end]) for arc, end in zip(arcs, ends, strict=True)]
    points = np.vstack(runs)
    return points[np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-9]


def _corner(x: float, y: float, r: float, quarter: int) -> Arc:
    return Arc(x, y, r, r, quarter * math.pi / 2, (quarter + 1) * math.pi / 2)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: back, four sides with their corners, flat top."""
    return slab(outline(size, p, tolerance), size, p)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """Four prongs, on the corners."""
    r = p.corner * size.width
    in_ = r * (1 - math.sqrt(0.5))
    x, y = size.length / 2 - in_, size.width / 2 - in_
    return [(sx * x, sy * y, 45.0 + 90.0 * k, r <= 0) for k, (sx, sy) in enumerate(SIGNS)]


def bearing(p: Proportions) -> float:
    """0 degrees: the flat back sits on a level bearing."""
    return 0.0
