"""Marquise: two circular arcs meeting in points, 8 mains, a main on each point."""

from __future__ import annotations

import math

import numpy as np

from .brilliant import brilliant
from .curves import Arc, divided, mirrored, trace
from .parts import Proportions, Size
from .round import bearing
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def _arcs(size: Size) -> list[Arc]:
    half, rise = size.length / 2, size.width / 2
    radius = (half**2 + rise**2) / (2 * rise)
    start = math.asin((radius - rise) / radius)
    upper = Arc(0.0, rise - radius, radius, radius, start, math.pi - start, facing=0.0)
    return mirrored(divided(upper, ("main", "half") * 4), "main", 180.0)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh."""
    return brilliant(_arcs(size), p, (0.0, 0.0), size.width, tolerance)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    return trace(_arcs(size), tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on each point and two prongs on each side: points alone hold no stone."""
    rows = []
    for arc in _arcs(size)[0::2]:
        if arc.facing is None and abs(arc.outward()) % 180 == 90:
            continue  # the belly stays open
        rows.append((*arc.at(arc.t0), arc.outward() % 360, arc.facing is not None))
    return rows
