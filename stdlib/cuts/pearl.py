"""Pearl or bead: a sphere about the origin."""

from __future__ import annotations

import math

import numpy as np

from .cabochon import corners, outline, stack
from .curves import Arc
from .parts import Proportions, Size
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: rings of latitude between two poles (points on the sphere)."""
    radius = size.width / 2
    rim = outline(size, p, tolerance)
    steps = 2 * len(Arc(0.0, 0.0, radius, radius, 0.0, math.pi / 2).points(tolerance, 2))
    turns = [math.pi * (k / steps - 0.5) for k in range(1, steps)]
    dome = stack(rim, [(math.cos(t), radius * math.sin(t)) for t in turns], radius)
    # The flat back of the stack gives way to a second pole.
    n, pole = len(rim), len(dome.points)
    points = np.vstack([dome.points, [[0.0, 0.0, -radius]]])
    cap = tuple(((i + 1) % n, i, pole) for i in range(n))
    faces = (*cap, *dome.faces[1:])
    return Facets(points, faces, ("pearl",) * len(faces))


def bearing(p: Proportions) -> float:
    """45 degrees: a usual cup's rim; a sphere has no facets to match."""
    return 45.0
