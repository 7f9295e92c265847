"""Tapered baguette: a trapeze, wide end at -x; every tier is drawn in evenly all round.

The keel rises a little towards the narrow end, as the sides come together there."""

from __future__ import annotations

import math

import numpy as np

from .curves import Point
from .parts import Proportions, Size
from .solid import Facets
from .step import CROWN, FOUR, first_angle, levels, stepped


def _ring(size: Size, inset: float) -> list[Point]:
    """The trapeze drawn in by inset mm square to each side."""
    half = size.length / 2
    slope = (size.width - size.narrow) / 2 / size.length
    lost = inset * math.hypot(1.0, slope)  # how much lower a slanted side then stands

    def y(x: float) -> float:
        return size.width / 2 - slope * (x + half) - lost

    wide, narrow = inset - half, half - inset
    return [(narrow, -y(narrow)), (narrow, y(narrow)), (wide, y(wide)), (wide, -y(wide))]


def _deepest(size: Size) -> float:
    """Mm from the wide end to the keel's deepest place, equally far from three sides."""
    slope = (size.width - size.narrow) / 2 / size.length
    by_sides = size.width / 2 / (math.hypot(1.0, slope) + slope)
    return min(by_sides, size.length / 2)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh (nothing curved: tolerance is not needed)."""
    width, deep = size.width, _deepest(size)
    rim = (1 - p.table) * size.narrow / 2
    crown = [(_ring(size, rim * way), z) for way, z in levels(CROWN, p.crown * width)]
    steps = levels(FOUR, p.pavilion * width)
    pavilion = [(_ring(size, deep * (1 - p.culet) * way), z) for way, z in steps]
    return stepped(_ring(size, 0.0), crown, pavilion, p, width)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(4, 2) girdle outline, mm."""
    return np.array(_ring(size, 0.0))


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on each corner, facing along its half angle."""
    slope = math.degrees(math.atan2(size.width - size.narrow, 2 * size.length))
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = _ring(size, 0.0)
    turn = (90 - slope) / 2
    back = (90 - slope + 180) / 2
    return [(bx, by, turn, True), (cx, cy, back, True), (dx, dy, 360 - back, True),
            (ax, ay, 360 - turn, True)]  # fmt: skip


def bearing(p: Proportions) -> float:
    """Angle of the tier under the girdle, degrees."""
    return first_angle(FOUR, p)
