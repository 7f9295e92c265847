"""Round brilliant: 8 mains, 57 facets (58 with a culet facet), girdle apart."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from .curves import Arc, divided, trace
from .parts import Proportions, Size

if TYPE_CHECKING:
    from .solid import Facets

STATIONS = ("main", "half") * 8


def _arcs(size: Size) -> list[Arc]:
    whole = Arc(0.0, 0.0, size.length / 2, size.width / 2, 0.0, 2 * math.pi)
    return divided(whole, STATIONS)


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh (an oval is the same stone drawn out along x)."""
    from .brilliant import brilliant

    return brilliant(_arcs(size), p, (0.0, 0.0), size.width, tolerance)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(m, 2) girdle outline, mm."""
    return trace(_arcs(size), tolerance)


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """Four prongs, at the quarters between the axes."""
    return [(*arc.at(arc.t0), arc.outward() % 360, False) for arc in _arcs(size)[2::4]]


def bearing(p: Proportions) -> float:
    """Pavilion main angle, degrees."""
    return p.pavilion_angle
