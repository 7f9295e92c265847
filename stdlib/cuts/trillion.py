"""Trillion: three bowed sides, three small rounded corners, one of them to +x; 6 mains."""

from __future__ import annotations

import math
from functools import lru_cache

from .curves import Arc, Rounded, mirrored
from .parts import Proportions, Size

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


def _shift() -> float:
    """From the culet to the middle of the length, as a share of that."""
    _, front, back = _plain()
    return -(front - back) / 2


def _arcs(size: Size) -> list[Arc]:
    """The outline fitted to length and width."""
    return [arc.stretched(size.length, size.width, _shift()) for arc in _plain()[0]]


class _Trillion(Rounded):
    def bearing(self, p: Proportions) -> float:
        """Pavilion main angle at mid side, degrees: a side is nearer than half the width."""
        return math.degrees(math.atan2(p.pavilion, _plain()[2] * (1 - p.culet)))


SHAPE = _Trillion(
    _arcs, lambda arcs: [a for a in arcs if a.station == "main"][0::2], pointed=True,
    culet=lambda size: (_shift() * size.length, 0.0),
)
"""A vee on each corner; the culet lies equally far from all sides."""
