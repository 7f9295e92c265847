"""Heart: two lobes and a cleft at -x, a point at +x; 8 mains, four to each half.

The stone is not convex, but either half is: one half is cut by planes, its image laid
against it along the length, and the wall between them left out."""

from __future__ import annotations

import math

import numpy as np

from .brilliant import brilliant_half
from .curves import Arc, divided, trace
from .parts import Proportions, Size
from .solid import Facets, weld

LOBE = 0.275  # radius of a lobe over the width
SHOULDER = math.radians(74)  # where side and lobe meet: direction seen from the lobe's middle
CULET = -0.07  # x of the culet over the length


def _upper(size: Size) -> list[Arc]:
    """The half above the length, from the point round to the cleft; drawn square first."""
    cx, cy = LOBE - 0.5, 0.5 - LOBE
    ux, uy = math.cos(SHOULDER), math.sin(SHOULDER)
    dx, dy = 0.5 - cx, -cy
    near = dx * ux + dy * uy
    radius = (dx * dx + dy * dy + LOBE**2 - 2 * LOBE * near) / (2 * (LOBE - near))
    sx, sy = cx - (radius - LOBE) * ux, cy - (radius - LOBE) * uy
    start = math.atan2(-sy, 0.5 - sx)
    side = Arc(sx, sy, radius, radius, start, SHOULDER)
    cleft = math.pi + math.asin(cy / LOBE)
    lobe = Arc(cx, cy, LOBE, LOBE, SHOULDER, cleft)
    arcs = divided(side, ("half", "main", "half"))
    arcs += divided(lobe, ("main", "half", "main", "half", "main"))
    return [arc.stretched(size.length, size.width) for arc in arcs]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh; facets that run across the length come as two level halves."""
    half = brilliant_half(_upper(size), p, (CULET * size.length, 0.0), size.width, tolerance)
    other = Facets(half.points * (1.0, -1.0, 1.0), tuple(f[::-1] for f in half.faces), half.names)
    return weld([half, other])


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    upper = _upper(size)
    lower = [a.flipped("") for a in reversed(upper)]
    return trace([*upper, *lower], tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on the point and a prong on each lobe."""
    lobe = next(a for a in _upper(size)[5:] if a.station == "main")
    (x, y), out = lobe.at(lobe.t0), lobe.outward()
    return [(size.length / 2, 0.0, 0.0, True), (x, y, out, False), (x, -y, 360 - out, False)]


def bearing(p: Proportions) -> float:
    """Pavilion main angle, degrees."""
    return p.pavilion_angle
