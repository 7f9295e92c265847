"""Girdle outlines as runs of elliptic arcs, with the stations where facets meet them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from .parts import Proportions, Size

if TYPE_CHECKING:
    from .solid import Facets

Point = tuple[float, float]


@dataclass(frozen=True)
class Arc:
    """Part of an ellipse, counter-clockwise: centre + (a cos t, b sin t), t0 < t1 radians.

    station: what its first point is to the facets: "main" (a bezel and a pavilion main
    stand there), "half" (two girdle facets meet there) or "" (nothing).
    facing: at a corner, the outward direction in degrees of the main that stands there."""

    cx: float
    cy: float
    a: float
    b: float
    t0: float
    t1: float
    station: str = ""
    facing: float | None = None

    def at(self, t: float) -> Point:
        """The point at parameter t."""
        return self.cx + self.a * math.cos(t), self.cy + self.b * math.sin(t)

    def outward(self) -> float:
        """Outward normal at the first point, degrees."""
        if self.facing is not None:
            return self.facing
        return math.degrees(math.atan2(math.sin(self.t0) / self.b, math.cos(self.t0) / self.a))

    def points(self, tolerance: float, least: int = 1) -> list[Point]:
        """Points from t0 up to but without t1, chord error at most tolerance."""
        reach = max(self.a, self.b)
        turn = 2 * math.acos(max(-1.0, 1 - tolerance / reach)) if tolerance < reach else 1.0
        n = max(least, math.ceil((self.t1 - self.t0) / turn - 1e-9))
        return [self.at(self.t0 + (self.t1 - self.t0) * k / n) for k in range(n)]

    def stretched(self, sx: float, sy: float, dx: float = 0.0) -> Arc:
        """Moved by dx along x, then scaled along x and y (facing stays: see callers)."""
        return replace(self, cx=(self.cx + dx) * sx, cy=self.cy * sy, a=self.a * sx, b=self.b * sy)

    def flipped(self, station: str, facing: float | None = None) -> Arc:
        """Its image across the length (y -> -y), still counter-clockwise."""
        return replace(self, cy=-self.cy, t0=-self.t1, t1=-self.t0, station=station, facing=facing)


def divided(arc: Arc, stations: Sequence[str]) -> list[Arc]:
    """The arc in equal steps of t, one per station named; only the first keeps facing."""
    n = len(stations)
    step = (arc.t1 - arc.t0) / n
    return [
        replace(
            arc, t0=arc.t0 + k * step, t1=arc.t0 + (k + 1) * step, station=station,
            facing=arc.facing if k == 0 else None,
        )
        for k, station in enumerate(stations)
    ]


def mirrored(upper: Sequence[Arc], end: str, facing: float | None = None) -> list[Arc]:
    """The upper half (from +x round to -x) and its image below.

    end and facing: the station where the upper half ends, on the -x side."""
    stations = [*(a.station for a in upper[1:]), end]
    lower = [a.flipped(s) for a, s in zip(reversed(upper), reversed(stations), strict=True)]
    lower[0] = replace(lower[0], facing=facing)
    return [*upper, *lower]


def trace(arcs: Sequence[Arc], tolerance: float, least: int = 1) -> np.ndarray:
    """(m, 2) outline, counter-clockwise, mm; least: points per arc at the very least."""
    points = [p for arc in arcs for p in arc.points(tolerance, least)]
    return np.array(points, dtype=np.float64)


class Rounded:
    """The shape of a brilliant whose girdle is a run of ``arcs``; on some of those, its ``claws``, stand
    prongs, or vees where the arc begins in a point (all of them, if ``pointed``). ``culet`` is where the
    culet lies."""

    def __init__(
        self, arcs: Callable[[Size], list[Arc]], claws: Callable[[list[Arc]], Iterable[Arc]], *,
        culet: Callable[[Size], Point] = lambda size: (0.0, 0.0), pointed: bool = False,
    ) -> None:
        self._arcs, self._claws, self._culet, self._pointed = arcs, claws, culet, pointed

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The facet mesh."""
        from .brilliant import brilliant

        return brilliant(self._arcs(size), p, self._culet(size), size.width, tolerance)

    def outline(self, size: Size, p: Proportions, tolerance: float) -> np.ndarray:
        """(m, 2) girdle outline, mm."""
        return trace(self._arcs(size), tolerance)

    def corners(self, size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
        """A prong, or a vee, where each of its claws begins."""
        claws = self._claws(self._arcs(size))
        return [(*a.at(a.t0), a.outward() % 360, self._pointed or a.facing is not None) for a in claws]

    def bearing(self, p: Proportions) -> float:
        """Pavilion main angle, degrees."""
        return p.pavilion_angle
