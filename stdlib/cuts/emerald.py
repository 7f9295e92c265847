"""Emerald cut: a rectangle with cut corners, three tiers above and three below to a keel."""

from __future__ import annotations

import numpy as np

from .curves import Point
from .parts import Proportions, Size
from .solid import Facets
from .step import CROWN, THREE, first_angle, levels, stepped


def ring(size: Size, corner: float, share: float) -> list[Point]:
    """The girdle (share 1) drawn in towards the keel, every side staying parallel."""
    keel = (size.length - size.width) / 2
    y = size.width / 2 * share
    x = keel + y
    c = corner * size.width * share
    return [
        (x, -y + c), (x, y - c), (x - c, y), (c - x, y),
        (-x, y - c), (-x, c - y), (c - x, -y), (x - c, -y),
    ]  # fmt: skip


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh (nothing curved: tolerance is not needed)."""
    width = size.width

    def at(share: float) -> list[Point]:
        return ring(size, p.corner, share)

    crown = [(at(1 - (1 - p.table) * way), z) for way, z in levels(CROWN, p.crown * width)]
    pavilion = [(at(1 - (1 - p.culet) * way), z) for way, z in levels(THREE, p.pavilion * width)]
    return stepped(at(1), crown, pavilion, p, width)


def _prongs(size: Size, corner: float) -> list[tuple[float, float, float, bool]]:
    """One prong on the middle of each cut corner, square to it."""
    x = size.length / 2 - corner * size.width / 2
    y = size.width / 2 - corner * size.width / 2
    return [(x, y, 45.0, False), (-x, y, 135.0, False), (-x, -y, 225.0, False), (x, -y, 315.0, False)]


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(8, 2) girdle outline, mm."""
    return np.array(ring(size, p.corner, 1.0))


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """Four prongs, on the cut corners."""
    return _prongs(size, p.corner)


def bearing(p: Proportions) -> float:
    """Angle of the tier under the girdle, degrees."""
    return first_angle(THREE, p)
