"""The head of a signet ring: a flat table whose flanks flow down into the shank."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..geometry import frames as fr
from ..geometry.outlines import Outline, inset, segments, trace
from ..geometry.surfaces import Part, Span
from .doubled import halved, skin, welded
from .mesh import SolidMesh
from .sections import Profile, curves
from .shank_face import Round

# The flanks run a little inside the shank where they meet it: surfaces that only touch leave slivers, and
# of a shank that tapers and is domed their feet would stand out as a ledge.
WITHIN = 0.1
# How much nearer the head a flank leaves the shank than a straight one would, a share of the way from
# under the table's end to there.
SWEEP = 0.25
# How much later than its width the outline of the flanks comes to that of the table: sooner, and the
# corners of the shank would stand out of them.
ROUNDING = 1.3
SMALL = 1e-4  # of the way, between places that tell which way a flank runs
SLANT = 0.6  # mm between spots of a straight side aslant


@dataclass(frozen=True)
class Table:
    """``outline`` of the table, its height above the finger's axis, and the shank that the flanks
    run into: its outside radius there, its width at the head, profile, inside radius and width at
    the back, mm. The finger lies along y, the table looks along +z."""

    outline: Outline
    top: float
    outer: float
    wide: float
    profile: str = "flat"
    inner: float = 0.0
    back: float = 0.0

    def half(self, x: float, z: float) -> float:
        """Half the width of the shank at the angle of a spot, less a hair."""
        share = (1.0 + z / math.hypot(x, z)) / 2 if self.back else 1.0
        return (self.back + (self.wide - self.back) * share) / 2 - WITHIN

    def outside(self, across: np.ndarray) -> np.ndarray:
        """Radius of the shank's outside over its middle's, at places (n,) across it, from -1 to 1."""
        if self.profile == "flat":
            return np.ones(len(across))
        thick = self.outer - self.inner
        half = self.half(*foot(self)) + WITHIN
        chain = curves(Profile(self.profile), self.inner, 2 * half, thick)
        rising = [
            points
            for curve in chain[:2]
            if np.ptp((points := curve(np.linspace(0.0, 1.0, 33)))[:, 1]) > 1e-9
            and points[-1, 1] > points[0, 1]
        ]
        section = np.concatenate(rising)
        return np.interp(across * half, section[:, 1], section[:, 0]) / self.outer


def foot(made: Table) -> tuple[float, float]:
    """Where the flank leaves the shank: (x, z), mm."""
    angle, radius = _leaving(made), made.outer - WITHIN
    return radius * math.sin(angle), radius * math.cos(angle)


def _leaving(made: Table) -> float:
    """How far from the head the flank leaves the shank, radians: nearer the head than the straight
    line from the table's end touches it, so that the flank sweeps up to the table."""
    half = float(np.ptp(trace(made.outline)[:, 0])) / 2
    end = math.atan2(half, made.top)
    touching = math.acos(min(1.0, (made.outer - WITHIN) / math.hypot(half, made.top)))
    return end + (1.0 - SWEEP) * touching


def _flank(made: Table, share: Any) -> np.ndarray:
    """The flank's line in the round of the finger: (x, z) at a share of its way from the shank, which
    it leaves as the shank runs, to the table's end; at shares (n, 1) points (n, 2)."""
    half = float(np.ptp(trace(made.outline)[:, 0])) / 2
    angle = _leaving(made)
    start, end = np.array(foot(made)), np.array([half, made.top])
    way = np.array([-math.cos(angle), math.sin(angle)])
    bend = start + 0.5 * float(np.linalg.norm(end - start)) * way
    return np.asarray((1 - share) ** 2 * start + 2 * share * (1 - share) * bend + share**2 * end)


def flank_at(made: Table, angle: float) -> np.ndarray | None:
    """The frame (1, 3, 4) on the middle of the flank, so many radians from the head: x runs on round the
    finger, z looks out of the metal. None where the flank has come to the shank, or to the table."""
    share, spots = np.linspace(0.0, 1.0, 257), _flank(made, np.linspace(0.0, 1.0, 257)[:, None])
    angles, side = np.arctan2(*spots.T), math.copysign(1.0, angle)
    if not angles[-1] < abs(angle) < angles[0]:
        return None
    at = float(np.interp(-abs(angle), -angles, share))
    (x, z), (dx, dz) = _flank(made, at), _flank(made, at - SMALL) - _flank(made, at + SMALL)
    spot, on, out = (side * x, 0.0, z), (dx, 0.0, side * dz), (-side * dz, 0.0, dx)
    return fr.from_axes(*(np.array([one]) for one in (spot, on, out)))


@dataclass(frozen=True)
class Flanks:
    """The outside of a signet round the finger: its flanks, and beyond them its ``shank``."""

    made: Table
    shank: Round
    goes_round = True

    def area(self) -> float:
        """Its area, nearly."""
        return self.shank.area()

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """As upon its shank."""
        return self.shank.spread(every, margin, part)

    def span(self) -> Span:
        """As of its shank."""
        return self.shank.span()

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Right is along the middle of the outside, up along the finger; no number on the table."""
        half, found = float(np.ptp(trace(self.made.outline)[:, 0])) / 2, []
        for right, up in spots.tolist():
            angle = around + right / math.hypot(*_flank(self.made, 0.5))
            frame = flank_at(self.made, angle)
            if frame is not None:
                frame = fr.compose(frame, fr.shifted(up=up))
            elif abs(angle) > math.atan2(half, self.made.top):
                frame = self.shank.stood(np.array([[0.0, up]]), angle)
            found.append(np.full((3, 4), np.nan) if frame is None else frame[0])
        return np.array(found)


def table(made: Table, tolerance: float) -> SolidMesh:
    """The mesh of the head, to be joined to its shank and bored to the finger's size."""
    return _stacked(made.outline, made.top, lambda spots, share: _level(made, spots, share), tolerance)


def hollow(made: Table, wall: float, roof: float, tolerance: float) -> SolidMesh:
    """The mesh of what is cut out of a head from the finger: ``wall`` mm stand inside its flanks at the
    least, ``roof`` under its table; it runs out in the finger hole."""
    core = Table(inset(made.outline, wall), made.top - roof, made.inner, made.wide)
    shares = np.linspace(0.0, 1.0, 257)
    long, high = _flank(made, shares[:, None]).T
    below = np.linspace(min(_flank(core, 0.0)[1], high[0]) - wall, high[0], 128, endpoint=False)
    long, high = np.r_[np.sqrt(made.outer**2 - below**2), long], np.r_[below, high]  # first the shank
    ease = np.r_[0 * below, _ease(shares)]
    narrow = np.array([made.half(x, z) for x, z in zip(long, high, strict=True)])
    broad = narrow + (_box(made.outline)[0][1] - narrow) * ease
    spots = np.linspace(_flank(core, 0.0)[1], core.top, 257)
    off = np.abs(high - spots[:, None])  # a ball of the wall's size is rolled along inside the flank
    deep = np.sqrt(np.maximum(wall**2 - off**2, 0.0))
    free_x, free_y = (np.where(off < wall, way - deep, np.inf).min(axis=1) for way in (long, broad))

    def level(outline: np.ndarray, share: float) -> np.ndarray:
        x, z = _flank(core, share)
        sides, come = (min(x, float(np.interp(z, spots, free_x))), 1.0), float(np.interp(z, high, ease))
        found, middle = _shaped(core.outline, outline, sides, come)[0], _box(core.outline)[1][1] * come
        # Its mouth goes straight up first: what leans from there would be a blade on the finger, or a shelf.
        mouth = np.sqrt(np.maximum(made.inner**2 - found[:, 0] ** 2, 0.0))
        wide = np.interp(np.maximum(z - wall, mouth), spots, free_y)
        found[:, 1] = middle + (found[:, 1] - middle) * wide
        return np.column_stack([found, np.full(len(found), z)])

    return _stacked(core.outline, core.top, level, tolerance)


def _stacked(
    contour: Outline, high: float, level: Callable[[np.ndarray, float], np.ndarray], tolerance: float
) -> SolidMesh:
    """The solid whose ``level`` gives the points (n, 3) of a contour's (n, 2) at each share of its height."""
    from manifold3d import triangulate

    loop = trace(contour, min(tolerance, 0.002))
    double = halved(loop, _diagonals(loop))
    steps = max(8, segments(high, tolerance, 90.0))
    fine = np.stack([level(double, share) for share in np.linspace(0.0, 1.0, 2 * steps + 1)])
    points, triangles, lift = skin(fine, False, True)
    count = len(double[::2])
    bottom = np.asarray(triangulate([fine[0, ::2, :2]]), dtype=np.int64)[:, ::-1]
    top = np.asarray(triangulate([fine[-1, ::2, :2]]), dtype=np.int64) + len(points) - count
    caps = np.repeat([len(lift), len(lift) + 1], [len(bottom), len(top)])
    face = np.concatenate([np.arange(len(triangles)), caps])
    return welded(points, np.concatenate([triangles, bottom, top]), face, np.concatenate([lift, [0.0, 0.0]]))


def _diagonals(outline: np.ndarray) -> list[np.ndarray]:
    """Where each chord of a table is divided, shares of it: where it crosses a diagonal of its box, as the
    corners of the shank's section run up to there, and finely where it lies aslant."""
    x, y = ((outline - (outline.max(axis=0) + outline.min(axis=0)) / 2) / (np.ptp(outline, axis=0) / 2)).T
    found: list[list[float]] = [[] for _ in x]
    for side in (x - y, x + y):
        after = np.roll(side, -1)
        for k in np.flatnonzero((side < 0) != (after < 0)).tolist():
            share = float(side[k] / (side[k] - after[k]))
            found[k] += [share] if 1e-6 < share < 1 - 1e-6 else []
    # A straight side aslant comes of a bent one: its spots lie no farther apart than a bend's would.
    run = np.abs(np.roll(outline, -1, axis=0) - outline)
    for k in np.flatnonzero(run.min(axis=1) > 1e-6).tolist():
        parts = int(np.ceil(np.hypot(*run[k]) / SLANT))
        found[k] += [share / parts for share in range(1, parts)]
    return [np.array(sorted(shares)) for shares in found]


def _level(made: Table, outline: np.ndarray, share: float) -> np.ndarray:
    """The flank's points (n, 3) at a share of its height: 0 at the shank, 1 at the table."""
    # In the round of the finger a sweep; along the finger an S that leaves the shank's side and
    # meets the table's edge without a crease.
    long, high = _flank(made, share)
    ease, narrow = _ease(share), made.half(long, high)
    wide = narrow + (_box(made.outline)[0][1] - narrow) * ease
    shape, square = _shaped(made.outline, outline, (long, wide), ease)
    # A domed shank falls away to its sides, and the flanks' feet with it.
    fall = 1.0 - (1.0 - made.outside(square[:, 1])) * (1.0 - ease)
    height = high * fall
    return np.column_stack([shape[:, 0] * fall, shape[:, 1], height])


def _ease(share: Any) -> Any:
    """How far it has come from the shank's width to that of the table, of shares of the height."""
    return share**3 * (10.0 - 15.0 * share + 6.0 * share * share)


def _box(outline: Outline) -> tuple[np.ndarray, np.ndarray]:
    """Half the sides of the box round an outline, and its middle, (2,) each."""
    box = trace(outline)
    return np.ptp(box, axis=0) / 2, (box.max(axis=0) + box.min(axis=0)) / 2


def _shaped(
    outline: Outline, spots: np.ndarray, sides: tuple[float, float], ease: float
) -> tuple[np.ndarray, np.ndarray]:
    """The spots (n, 2) of a table's outline on their way to it from an oblong, half its ``sides`` given; and
    what they are on a square from -1 to 1. About the middle of its box, which it leaves as it comes up."""
    half, centre = _box(outline)
    middle = (spots - centre) / half
    square = middle / np.abs(middle).max(axis=1, keepdims=True)
    round_ = ease**ROUNDING
    return (middle * round_ + square * (1.0 - round_)) * sides + centre * ease, square
