"""Trillion: three bowed sides, three small rounded corners, one of them to +x; 6 mains."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from .brilliant import brilliant
from .curves import Arc, Point, mirrored, trace
from .parts import Proportions, Size
from .solid import Facets

NIB = 0.035  # radius of a corner; the sides have radius 1 about the corner opposite


@lru_cache(maxsize=1)
def _plain() -> tuple[list[Arc], float, float]:
    """The outline of equal sides about its culet: arcs, and mm to its front and back.

    Sides are drawn about the middle of the opposite nib, which makes a figure of constant
    width 1: as long as it is wide, like the stones the trade sells by one measure."""
    far = (1 - 2 * NIB) / math.sqrt(3)  # middle of the stone to middle of a nib
    bow, third = 1 - NIB, math.pi / 3
    nib = [(far * math.cos(2 * k * third), far * math.sin(2 * k * third)) for k in range(3)]
    quarter = third / 4
    upper = [
        Arc(*nib[0], NIB, NIB, 0.0, third / 2, "main"),
        Arc(*nib[2], bow, bow, third / 2, third / 2 + quarter, ""),
        Arc(*nib[2], bow, bow, third / 2 + quarter, third, "half"),
        Arc(*nib[2], bow, bow, third, third + quarter, "main"),
        Arc(*nib[2], bow, bow, third + quarter, 1.5 * third, "half"),
        Arc(*nib[1], NIB, NIB, 1.5 * third, 2 * third, ""),
        Arc(*nib[1], NIB, NIB, 2 * third, 2.5 * third, "main"),
        Arc(*nib[0], bow, bow, 2.5 * third, 2.5 * third + quarter, ""),
        Arc(*nib[0], bow, bow, 2.5 * third + quarter, 3 * third, "half"),
    ]
    return mirrored(upper, "main"), far + NIB, bow - far


def _arcs(size: Size) -> tuple[list[Arc], Point]:
    """The outline fitted to length and width, and where its culet lies."""
    arcs, front, back = _plain()
    shift = -(front - back) / 2
    fitted = [arc.stretched(size.length, size.width, shift) for arc in arcs]
    return fitted, (shift * size.length, 0.0)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh; the culet lies equally far from all sides."""
    arcs, culet = _arcs(size)
    return brilliant(arcs, p, culet, size.width, tolerance)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    return trace(_arcs(size)[0], tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on each corner."""
    arcs, _ = _arcs(size)
    mains = [a for a in arcs if a.station == "main"][0::2]
    return [(*a.at(a.t0), a.outward() % 360, True) for a in mains]


def bearing(p: Proportions) -> float:
    """Pavilion main angle at mid side, degrees: a side is nearer than half the width."""
    return math.degrees(math.atan2(p.pavilion, _plain()[2] * (1 - p.culet)))
