"""Pear: a round head, two circular arcs to a point at +x, 8 mains."""

from __future__ import annotations

import math

from .curves import Arc, Point, Rounded, divided, mirrored
from .parts import Size


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


SHAPE = Rounded(_arcs, lambda arcs: [arcs[k] for k in (0, 2, 6, 10, 14)], culet=_centre)
"""A vee on the point, two prongs on the sides and two on the head; the culet lies under its middle."""
