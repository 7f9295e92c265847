"""The brilliant family: table, stars, bezels, upper and lower girdle facets, mains.

Bezels stand on the girdle at the main stations and lean to one point over the culet, so
the table is the outline made smaller; pavilion mains lean to the culet. Star tips lie
where neighbouring bezels meet, and each girdle facet runs through a star tip (or a lower
tip), a main station and a half station: every meeting point is exact for any outline."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .curves import Arc, Point, trace
from .parts import Proportions
from .solid import Facets, Plane, Vector, from_planes, plane_through

NAMES = {1: ("bezel", "upper girdle"), -1: ("pavilion main", "lower girdle")}


@dataclass(frozen=True)
class _Station:
    """A place on the girdle: x, y, and the outward direction of its facet, radians."""

    at: Point
    out: float


def brilliant(arcs: Sequence[Arc], p: Proportions, centre: Point, width: float, tolerance: float) -> Facets:
    """A brilliant on a convex outline; centre is where culet and table middle stand.

    arcs must start on a main station and alternate main and half. Two girdle facets per
    arc at the very least (32 for a round), more as tolerance (mm) asks; the bruted girdle
    of a real stone is smooth, and its scallops come from the girdle facets above and below."""
    points = [(float(x), float(y)) for x, y in trace(arcs, tolerance, 2)]
    planes = girdle([*points, points[0]])
    planes += crowned(_stations(arcs), p, centre, width, ring=True)
    return from_planes(planes, 2 * reach(arcs))


def brilliant_half(
    upper: Sequence[Arc], p: Proportions, centre: Point, width: float, tolerance: float
) -> Facets:
    """The half above the length (y >= 0) of a brilliant whose halves are convex, wall open.

    upper runs from +x to -x and starts and ends on half stations; centre has y = 0."""
    points = [(float(x), float(y)) for x, y in trace(upper, tolerance, 2)]
    end = upper[-1].at(upper[-1].t1)[0], 0.0
    points[0] = points[0][0], 0.0
    stations = [*_stations(upper), _Station(end, math.pi)]
    stations[0] = _Station(points[0], 0.0)
    planes = girdle([*points, end])
    planes += crowned(stations, p, centre, width, ring=False)
    planes.append(Plane("wall", (0.0, -1.0, 0.0), 0.0))
    half = from_planes(planes, 2 * reach(upper))
    kept = [k for k, name in enumerate(half.names) if name != "wall"]
    return Facets(half.points, tuple(half.faces[k] for k in kept), tuple(half.names[k] for k in kept))


def _stations(arcs: Sequence[Arc]) -> list[_Station]:
    return [_Station(a.at(a.t0), math.radians(a.outward())) for a in arcs if a.station]


def reach(arcs: Sequence[Arc]) -> float:
    """A length (mm) no point of the outline or of a sane pavilion lies beyond."""
    return max(abs(v) + max(a.a, a.b) for a in arcs for v in (a.cx, a.cy)) * 2


def girdle(points: Sequence[Point]) -> list[Plane]:
    """Upright planes between neighbouring points of a convex outline, counter-clockwise."""
    return [upright("girdle", a, b) for a, b in pairwise(points)]


def upright(name: str, a: Sequence[float], b: Sequence[float]) -> Plane:
    """The upright plane through a and b in plan, the stone on its left."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    size = math.hypot(dx, dy)
    normal = dy / size, -dx / size, 0.0
    return Plane(name, normal, normal[0] * a[0] + normal[1] * a[1])


def crowned(
    stations: Sequence[_Station], p: Proportions, centre: Point, width: float, ring: bool
) -> list[Plane]:
    """All sloping facets, top and bottom, of stations main, half, main, half ...

    ring: the stations close on themselves; else they run half, main, ... half."""
    half = p.girdle / 2 * width
    top = _Side(1, half, p.crown * width / (1 - p.table), centre, p.table, p.star)
    low = _Side(-1, half, p.pavilion * width / (1 - p.culet), centre, p.culet, p.lower)
    planes: list[Plane] = []
    for side in (top, low):
        planes += side.facets(stations, ring)
    planes += _cap("table", 1, half + p.crown * width)
    if p.culet > 0:
        planes += _cap("culet", -1, half + p.pavilion * width)
    return planes


def _cap(name: str, up: int, height: float) -> list[Plane]:
    """A level facet at a height above (up 1) or below (up -1) mid girdle."""
    return [Plane(name, (0.0, 0.0, float(up)), height)]


@dataclass(frozen=True)
class _Side:
    """Crown (up 1) or pavilion (up -1): how its facets lean.

    half: half the girdle, mm; rise: height from the girdle to the point all mains lean to;
    level: share of the outline left at table or culet; reach: star or lower-half length."""

    up: int
    half: float
    rise: float
    centre: Point
    level: float
    reach: float

    def facets(self, stations: Sequence[_Station], ring: bool) -> list[Plane]:
        """Mains, girdle facets and (crown) stars, in station order."""
        main, near = NAMES[self.up]
        first = 0 if ring else 1
        n = len(stations)
        planes = [self._main(main, s) for s in stations[first::2]]
        halves = range(1, n, 2) if ring else range(0, n, 2)
        for k in halves:
            planes += self._round_half(near, stations, k, ring)
        return planes

    def _main(self, name: str, s: _Station) -> Plane:
        along = s.at[0] - math.sin(s.out), s.at[1] + math.cos(s.out)
        return plane_through(name, self._rim(s.at), self._rim(along), self._apex(), self._inside())

    def _round_half(self, name: str, stations: Sequence[_Station], k: int, ring: bool) -> list[Plane]:
        """The two girdle facets, and over them the star, that share half station k."""
        n = len(stations)
        half = stations[k]
        before = stations[k - 1] if ring or k > 0 else _image(stations[1])
        after = stations[(k + 1) % n] if ring or k < n - 1 else _image(stations[n - 2])
        corner = _cross(before, after)
        tip = self._tip(before, after, half, corner)
        real = [s for s in (before, after) if s in stations]
        planes = [plane_through(name, self._rim(s.at), self._rim(half.at), tip, self._inside()) for s in real]
        cleft = real == [before] and before.at[1] * math.sin(before.out) < 0
        if self.up > 0 and not cleft:  # in a cleft the bezels meet in a valley, starless
            a, b = self._shrunk(before.at), self._shrunk(after.at)
            planes.append(plane_through("star", a, b, tip, self._inside()))
        return planes

    def _tip(self, before: _Station, after: _Station, half: _Station, corner: Point) -> Vector:
        """Where the ridge between two mains ends: a star tip or a lower-half tip."""
        cx, cy = self.centre
        dx, dy = corner[0] - cx, corner[1] - cy
        full = math.hypot(dx, dy)
        girdle = ((half.at[0] - cx) * dx + (half.at[1] - cy) * dy) / full
        if self.up > 0:
            edge = self.level * _along(before.at, after.at, self.centre, (dx / full, dy / full))
            # The ridge leaves the table's level here, and the star must end beyond it.
            leaves = self.level * full
            if leaves >= girdle:
                raise ValueError(f"a table of {self.level} of the width leaves no crown here")
            out = max(edge + self.reach * (girdle - edge), leaves + 0.1 * (girdle - leaves))
        else:
            out = (1 - self.reach) * girdle
        share = out / full
        z = self.half + self.rise * (1 - share)
        return cx + dx * share, cy + dy * share, self.up * z

    def _rim(self, at: Point) -> Vector:
        return at[0], at[1], self.up * self.half

    def _apex(self) -> Vector:
        return self.centre[0], self.centre[1], self.up * (self.half + self.rise)

    def _shrunk(self, at: Point) -> Vector:
        """Its place on the table's rim."""
        cx, cy = self.centre
        z = self.half + self.rise * (1 - self.level)
        return cx + (at[0] - cx) * self.level, cy + (at[1] - cy) * self.level, self.up * z

    def _inside(self) -> Vector:
        return self.centre[0], self.centre[1], 0.0


def _image(s: _Station) -> _Station:
    """Its image across the length."""
    return _Station((s.at[0], -s.at[1]), -s.out)


def _cross(a: _Station, b: _Station) -> Point:
    """Where the tangents at two stations cross in plan."""
    ca, sa, cb, sb = math.cos(a.out), math.sin(a.out), math.cos(b.out), math.sin(b.out)
    da = ca * a.at[0] + sa * a.at[1]
    db = cb * b.at[0] + sb * b.at[1]
    turn = ca * sb - sa * cb
    return (da * sb - sa * db) / turn, (ca * db - da * cb) / turn


def _along(a: Point, b: Point, centre: Point, ray: Point) -> float:
    """How far out along a ray from the centre the line a-b is met."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    ax, ay = a[0] - centre[0], a[1] - centre[1]
    return (ax * dy - ay * dx) / (ray[0] * dy - ray[1] * dx)
