"""Princess: a square brilliant with sharp corners and three chevrons to a side.

Drawn on a square of half width 1 and stretched. Every pavilion facet runs through a
corner of the girdle; seen from there they fan out from the side to the diagonal."""

from __future__ import annotations

import math

import numpy as np

from .brilliant import upright
from .curves import Point
from .parts import Proportions, Size
from .solid import Facets, Plane, Vector, from_planes, plane_through

SIDE = 1.75  # slope of the side facets under the girdle: 60.3 degrees
SLOPES = (0.72, 0.46, 0.22)  # chevrons between the side (1) and the main on the diagonal (0)
BREAKS = (0.2, 0.45, 0.7, 0.92)  # share of the way from the side in, where they change
TABLE = 0.9  # table corner over table side: an eight-sided table, nearly square
STAR = (0.84, 0.56)  # where star tips lie, from the middle to the side and along it
SIGNS = (1, 1), (-1, 1), (-1, -1), (1, -1)


Three = tuple[Vector, Vector, Vector]


def _turned(points: Three) -> list[Three]:
    """Three points and their images in all eighths of the square."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = points
    rows: list[Three] = []
    for u, v in SIGNS:
        rows.append(((u * ax, v * ay, az), (u * bx, v * by, bz), (u * cx, v * cy, cz)))
        rows.append(((u * ay, v * ax, az), (u * by, v * bx, bz), (u * cy, v * cx, cz)))
    return rows


def _crown(p: Proportions) -> list[Plane]:
    """Stars, corner kites, side triangles and the trapezes over the girdle."""
    rim, top, t = p.girdle, p.girdle + 2 * p.crown, p.table
    c = TABLE * t
    kite = (2 - STAR[0] - STAR[1]) / (2 - 2 * c)
    tip = STAR[0], STAR[1], rim + 2 * p.crown * kite
    image = STAR[0], -STAR[1], tip[2]
    drawn: list[tuple[str, Three]] = [
        ("star", ((c, c, top), (t, 0.0, top), tip)),
        ("bezel", ((1.0, 1.0, rim), tip, (tip[1], tip[0], tip[2]))),
        ("crown side", ((t, 0.0, top), tip, image)),
        ("crown girdle", ((1.0, 1.0, rim), (1.0, -1.0, rim), tip)),
    ]
    return [
        plane_through(name, *eighth, (0.0, 0.0, 0.0))
        for name, points in drawn
        for eighth in _turned(points)
    ]


def _fan(p: Proportions) -> list[tuple[float, float]]:
    """(a, b) of each pavilion facet, side to main: it lies a(1-x) + b(1-y) under the rim.

    Neighbours change over at the breaks, all drawn in or out alike so that the main,
    which is the same from either side of the diagonal (a = b), ends in the culet."""
    main = p.pavilion  # half the depth, counted in half widths
    a = [SIDE, *(main + s * (SIDE - main) for s in SLOPES), main]
    drops = [a[k] - a[k + 1] for k in range(len(BREAKS))]
    draw = main / sum(drop * way for drop, way in zip(drops, BREAKS, strict=True))
    if main >= SIDE or draw * BREAKS[-1] >= 1:
        raise ValueError(f"princess: no chevrons fit a pavilion of {p.pavilion} of the width")
    b = [0.0]
    for drop, way in zip(drops, BREAKS, strict=True):
        b.append(b[-1] + drop * way * draw)
    return list(zip(a, b, strict=True))


def _pavilion(p: Proportions) -> list[Plane]:
    """Side facets, three chevrons and the mains on the diagonals."""
    planes = []
    fan = _fan(p)
    for k, (a, b) in enumerate(fan):
        name = "pavilion main" if k == len(fan) - 1 else "chevron" if k else "pavilion side"
        low = -p.girdle
        points = (1.0, 1.0, low), (0.0, 1.0, low - a), (1.0, 0.0, low - b)
        planes += [plane_through(name, *row, (0.0, 0.0, 0.0)) for row in _turned(points)]
    if p.culet > 0:
        planes.append(Plane("culet", (0.0, 0.0, -1.0), p.girdle + 2 * p.pavilion))
    return planes


def _square(size: Size) -> list[Point]:
    x, y = size.length / 2, size.width / 2
    return [(x, -y), (x, y), (-x, y), (-x, -y)]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The facet mesh (nothing curved: tolerance is not needed)."""
    rim = _square(Size(2.0, 2.0, 2.0))
    planes = [upright("girdle", rim[k - 1], rim[k]) for k in range(4)]
    planes += _crown(p) + _pavilion(p)
    planes.append(Plane("table", (0.0, 0.0, 1.0), p.girdle + 2 * p.crown))
    stone = from_planes(planes, 4.0 + 4 * p.depth)
    stretch = size.length / 2, size.width / 2, size.width / 2
    return Facets(stone.points * stretch, stone.faces, stone.names)


def outline(size: Size, p: Proportions, tolerance: float) -> np.ndarray:
    """(4, 2) girdle outline, mm."""
    return np.array(_square(size))


def corners(size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
    """A vee on each corner."""
    x, y = size.length / 2, size.width / 2
    facing = zip(SIGNS, (45.0, 135.0, 225.0, 315.0), strict=True)
    return [(sx * x, sy * y, out, True) for (sx, sy), out in facing]


def bearing(p: Proportions) -> float:
    """Angle of the side facets under the girdle, degrees."""
    return math.degrees(math.atan(SIDE))
