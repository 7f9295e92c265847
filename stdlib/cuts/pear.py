"""Pear: a round head, two circular arcs to a point at +x, 8 mains."""

from __future__ import annotations

import math

import numpy as np

from .brilliant import brilliant
from .curves import Arc, Point, divided, mirrored, trace
from .parts import Proportions, Size
from .round import bearing
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def _centre(size: Size) -> Point:
    """The middle of the head, over the culet: mm from the middle of the length."""
    return (size.width - size.length) / 2, 0.0


def _arcs(size: Size) -> list[Arc]:
    half = size.width / 2
    x, _ = _centre(size)
    tail = size.length - half
    below = (tail**2 - half**2) / size.width  # the tail arc's centre under the length
    radius = below + half
    start = math.asin(below / radius)
    side = Arc(x, -below, radius, radius, start, math.pi / 2, facing=0.0)
    head = Arc(x, 0.0, half, half, math.pi / 2, math.pi)
    stations = ("main", "half") * 2
    return mirrored([*divided(side, stations), *divided(head, stations)], "main")


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh; the culet lies under the middle of the head."""
    return brilliant(_arcs(size), p, _centre(size), size.width, tolerance)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    return trace(_arcs(size), tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on the point, two prongs on the sides and two on the head."""
    arcs = _arcs(size)
    rows = [arcs[k] for k in (0, 2, 6, 10, 14)]
    return [(*a.at(a.t0), a.outward() % 360, a.facing is not None) for a in rows]
