"""Stones of an outline of one's own: a hexagon, a kite, a shield, a free form.

Such a cut is called ``outline/X,Y;X,Y;…``: the spots of its girdle, counter-clockwise, as shares of its
length and width. Every tier is the girdle drawn in toward the middle of its area, so its sides stay
parallel; a bowed side is cut in facets that turn by an eighth of a right angle or two."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np

from .parts import Proportions, Shape, Size
from .solid import Facets, hubbed
from .step import CROWN, THREE, first_angle, levels
from .tablet import OWN, middle

MOST = 160  # spots kept of an outline
FACET = math.radians(22.5)  # a bowed side turns by so much from facet to facet: sixteen to the circle
CORNER = math.radians(30)  # a spot that turns by more is a corner
# A corner that turns by more is a point, which a vee guards; common practice, no source.
SHARP = math.radians(65)
NEAR = 0.05  # of the way round: a bend within so much is a rounded corner,
BEND = math.radians(55)  # where it turns by more; a circle turns by half of it
HOLD = 150.0  # degrees between claws, over which another stands between them; common practice, no source
MANY = 6  # corners with a claw each; more than that are a round


def called(points: np.ndarray) -> str:
    """The name of the cut of an outline (n, 2), any unit; of its spots those that tell its shape.

    Raises ValueError where it is too hollow for a seat to be cut from its middle."""
    points = points - (points.min(axis=0) + points.max(axis=0)) / 2
    points = _telling(points if area(points) > 0 else points[::-1])
    shares = np.round(points / np.ptp(points, axis=0), 5) + 0.0
    for centre in (np.zeros(2), middle(shares)):
        away = shares - centre
        if (_cross(away, np.roll(away, -1, axis=0)) <= 1e-6).any():
            raise ValueError("it turns back on itself, seen from its middle")
    return f"{OWN}/" + ";".join(f"{x:g},{y:g}" for x, y in shares.tolist())


def _telling(points: np.ndarray) -> np.ndarray:
    """The outline without the spots that hardly leave the straight between their neighbours."""
    within = 2e-4 * float(np.ptp(points, axis=0).min())
    while True:
        before, chord = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
        off = np.abs(_cross(chord, points - before)) / np.maximum(np.hypot(*chord.T), 1e-12)
        spare = np.zeros(len(points), dtype=bool)
        for k in np.flatnonzero(off <= within).tolist():  # never two neighbours at once
            spare[k] = not spare[k - 1] and not spare[(k + 1) % len(points)]
        if spare.any():
            points = points[~spare]
        elif len(points) <= MOST:
            return points
        else:
            within *= 1.5


def area(points: np.ndarray) -> float:
    """Signed area of a closed outline (n, 2)."""
    return float(_cross(points, np.roll(points, -1, axis=0)).sum() / 2)


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _turns(points: np.ndarray) -> np.ndarray:
    """How far the outline turns at each spot, radians, to the left."""
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    return np.arctan2(_cross(into, out), (into * out).sum(axis=1))


class Drawn:
    """The shape of a stone over spots (n, 2) of its girdle, shares of its length and width."""

    def __init__(self, shares: np.ndarray) -> None:
        self.shares = shares

    def outline(self, size: Size, p: Proportions, tolerance: float) -> np.ndarray:
        """(n, 2) girdle outline, mm, as it was drawn."""
        return self.shares * (size.length, size.width)

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The facet mesh: girdle, three tiers above to the table, three below to a point or a culet."""
        rim = self.outline(size, p, tolerance)
        centre, mains, half, width = middle(rim), _mains(rim), p.girdle / 2 * size.width, size.width
        n, m = len(rim), len(mains)
        points = [np.column_stack([rim, np.full(n, z)]) for z in ((-half, half) if half else (0.0,))]
        around = ((i, (i + 1) % n) for i in range(n if half else 0))
        faces: list[tuple[int, ...]] = [(i, j, n + j, n + i) for i, j in around]
        names, ends = ["girdle"] * len(faces), (("crown step", "table"), ("pavilion step", "culet"))
        for (tiers, height, level), (step, end) in zip(
            ((CROWN, p.crown, p.table), (THREE, p.pavilion, p.culet)), ends, strict=True
        ):
            up = step == "crown step"
            near, made = (n if up and half else 0), list[tuple[int, ...]]()
            for k, (way, z) in enumerate(levels(tiers, height * width)):
                share, far = 1 - (1 - level) * way, sum(len(ring) for ring in points)
                ring = centre + (rim[mains] - centre) * share if share > 1e-9 else centre[None]
                points.append(np.column_stack([ring, np.full(len(ring), (half + z) * (1 if up else -1))]))
                made += _spread(rim, mains, near, far) if k == 0 else _tier(near, far, m, len(ring))
                near = far
            closing = [tuple(range(near, near + m))] if level > 0 else []
            faces += [one if up else one[::-1] for one in (*made, *closing)]
            names += [step] * len(made) + [end] * len(closing)
        stone = Facets(np.round(np.vstack(points), 12) + 0.0, tuple(faces), tuple(names))
        return hubbed(stone, centre)

    def corners(self, size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
        """A claw on each corner, sharp or rounded, and between those that stand far apart."""
        return list(_claws(self.outline(size, p, 0.0).tobytes()))

    def bearing(self, p: Proportions) -> float:
        """Angle of the tier under the girdle, degrees."""
        return first_angle(THREE, p)


def _tier(near: int, far: int, m: int, ends: int) -> list[tuple[int, ...]]:
    """The facets from a ring of m spots to the next one, or to its tip."""
    after = [(k + 1) % m for k in range(m)]
    if ends == 1:
        return [(near + k, near + j, far) for k, j in enumerate(after)]
    return [(near + k, near + j, far + j, far + k) for k, j in enumerate(after)]


def _spread(rim: np.ndarray, mains: list[int], fine: int, coarse: int) -> list[tuple[int, ...]]:
    """The facets next to the girdle: ring ``fine`` has all spots of the rim, ``coarse`` its mains."""
    n, m, faces = len(rim), len(mains), list[tuple[int, ...]]()
    for k, first in enumerate(mains):
        last = mains[(k + 1) % m]
        run = [(first + step) % n for step in range((last - first - 1) % n + 2)]
        a, b = coarse + k, coarse + (k + 1) % m
        if len(run) == 2:
            faces.append((fine + run[0], fine + run[1], b, a))
            continue
        chord = rim[last] - rim[first]
        off = np.abs(_cross(chord[None], rim[run[1:-1]] - rim[first]))
        bow = 1 + int(np.argmax(off))  # where the side stands farthest out
        faces += [(fine + i, fine + j, a) for i, j in pairwise(run[: bow + 1])]
        faces.append((fine + run[bow], b, a))
        faces += [(fine + i, fine + j, b) for i, j in pairwise(run[bow:])]
    return faces


def _mains(rim: np.ndarray) -> list[int]:
    """The spots of the rim between which its facets stand: its corners, and bowed sides by their turn."""
    turn, n = np.abs(_turns(rim)), len(rim)
    long = np.hypot(*(np.roll(rim, -1, axis=0) - rim).T)
    first, *others = np.flatnonzero(turn > CORNER).tolist() or [(int(np.argmax(long)) + 1) % n]
    kept: list[int] = []
    for a, b in pairwise([0, *(k - first for k in others), n]):
        way = np.cumsum(turn[[(first + k) % n for k in range(a + 1, b)]] if b > a + 1 else [0.0])
        parts = max(1 if way[-1] < FACET / 4 else 2, math.ceil(way[-1] / FACET - 1e-6), 1 if others else 3)
        inner = (a + 1 + int(np.searchsorted(way, way[-1] * k / parts - 1e-9)) for k in range(1, parts))
        kept += dict.fromkeys([a, *(k for k in inner if a < k < b)])
    return [(first + k) % n for k in kept]


@lru_cache(maxsize=64)
def _claws(data: bytes) -> tuple[tuple[float, float, float, bool], ...]:
    rim = np.frombuffer(data).reshape(-1, 2)
    turn = _turns(rim)
    rows = [_row(rim, turn, k, turn[k] > SHARP) for k in np.flatnonzero(turn > CORNER).tolist()]
    rows += _bends(rim, turn)
    if len(rows) > MANY:
        rows = []
    if not rows:
        long, wide = np.ptp(rim, axis=0)
        quarters = ((wide, long), (-wide, long), (-wide, -long), (wide, -long))
        rows = [_touching(rim, math.atan2(y, x)) for x, y in quarters]
    rows.sort(key=lambda row: row[2])
    between = []
    for row, after in zip(rows, [*rows[1:], rows[0]], strict=True):
        gap = (after[2] - row[2]) % 360 or 360.0
        parts = 1 if gap <= HOLD else max(2, math.ceil(gap / 120 - 1e-6))
        between += [_touching(rim, math.radians(row[2] + gap * k / parts)) for k in range(1, parts)]
    return tuple(sorted([*rows, *between], key=lambda row: row[2]))


def _bends(rim: np.ndarray, turn: np.ndarray) -> list[tuple[float, float, float, bool]]:
    """Rounded corners: where the outline turns far within a short way, no corner in it."""
    long = np.hypot(*(np.roll(rim, -1, axis=0) - rim).T)
    whole, at = long.sum(), np.cumsum(long) - long
    apart = np.abs((at[:, None] - at + whole / 2) % whole - whole / 2)
    bent = (apart <= NEAR * whole) @ np.where(turn > CORNER, 0.0, turn)
    left, rows = bent > BEND, []
    while left.any():
        like = np.flatnonzero(left & (bent >= bent[left].max() - 1e-6))
        like = like[apart[like[0]][like] <= 2 * NEAR * whole]
        k = int(like[len(like) // 2])
        rows.append(_row(rim, turn, k, False))
        left &= apart[k] > 2 * NEAR * whole
    return rows


def _row(rim: np.ndarray, turn: np.ndarray, at: int, sharp: bool) -> tuple[float, float, float, bool]:
    """A claw at a spot, facing as far from the side before it as from the one after."""
    into = rim[at] - rim[at - 1]
    facing = math.degrees(math.atan2(into[1], into[0]) + turn[at] / 2) - 90
    return float(rim[at][0]), float(rim[at][1]), round(facing % 360, 9) % 360, bool(sharp)


def _touching(rim: np.ndarray, way: float) -> tuple[float, float, float, bool]:
    """A claw where a straight edge that looks that way (radians) would touch the outline."""
    reach = rim @ (math.cos(way), math.sin(way))
    there = rim[reach > reach.max() - 1e-6].mean(axis=0)
    return float(there[0]), float(there[1]), math.degrees(way) % 360, False


@lru_cache(maxsize=64)
def of(drawn: str) -> Shape:
    """The shape of spots that a name tells."""
    return Drawn(np.array([[float(one) for one in spot.split(",")] for spot in drawn.split(";")]))
