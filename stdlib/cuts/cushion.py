"""Cushion brilliant: four bowed sides and four rounded corners, 8 mains."""

from __future__ import annotations

import math

from .curves import Arc, Rounded, divided, mirrored
from .parts import Size

BOW = 1.6  # radius of a side over its length: gently bowed, as cushions are drawn
ROUND = 0.19  # radius of a corner over the width


def _arcs(size: Size) -> list[Arc]:
    """Side arcs and corner arcs that meet smoothly; drawn square, then drawn out."""
    bow = BOW
    # The corner's centre (m, m) lies bow - ROUND from the side's centre (1/2 - bow, 0).
    a = bow - 0.5
    m = (-a + math.sqrt(2 * (bow - ROUND) ** 2 - a * a)) / 2
    turn = math.atan2(m, m + a)
    right = Arc(-a, 0.0, bow, bow, 0.0, turn, "main")
    first = Arc(m, m, ROUND, ROUND, turn, math.pi / 4, "half")
    last = Arc(m, m, ROUND, ROUND, math.pi / 4, math.pi / 2 - turn, "main")
    top = Arc(0.0, -a, bow, bow, math.pi / 2 - turn, math.pi / 2 + turn)
    upper = [right, first, last, *divided(top, ("half", "main"))]
    upper += [
        Arc(-m, m, ROUND, ROUND, math.pi / 2 + turn, 3 * math.pi / 4, "half"),
        Arc(-m, m, ROUND, ROUND, 3 * math.pi / 4, math.pi - turn, "main"),
        Arc(a, 0.0, bow, bow, math.pi - turn, math.pi, "half"),
    ]
    return [arc.stretched(size.length, size.width) for arc in mirrored(upper, "main")]


SHAPE = Rounded(_arcs, lambda arcs: arcs[2::4])
"""Four prongs, on the rounded corners."""
