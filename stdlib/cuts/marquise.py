"""Marquise: two circular arcs meeting in points, 8 mains, a main on each point."""

from __future__ import annotations

import math

from .curves import Arc, Rounded, divided, mirrored
from .parts import Size


def _arcs(size: Size) -> list[Arc]:
    half, rise = size.length / 2, size.width / 2
    radius = (half**2 + rise**2) / (2 * rise)
    start = math.asin((radius - rise) / radius)
    upper = Arc(0.0, rise - radius, radius, radius, start, math.pi - start, facing=0.0)
    return mirrored(divided(upper, ("main", "half") * 4), "main", 180.0)


def _claws(arcs: list[Arc]) -> list[Arc]:
    """A vee on each point and two prongs on each side: points alone hold no stone, the belly stays open."""
    return [a for a in arcs[0::2] if a.facing is not None or abs(a.outward()) % 180 != 90]


SHAPE = Rounded(_arcs, _claws)
