"""Round brilliant: 8 mains, 57 facets (58 with a culet facet), girdle apart; drawn out along x, an oval."""

from __future__ import annotations

import math

from .curves import Arc, Rounded, divided
from .parts import Size

STATIONS = ("main", "half") * 8


def _arcs(size: Size) -> list[Arc]:
    whole = Arc(0.0, 0.0, size.length / 2, size.width / 2, 0.0, 2 * math.pi)
    return divided(whole, STATIONS)


SHAPE = Rounded(_arcs, lambda arcs: arcs[2::4])
"""Four prongs, at the quarters between the axes."""
