"""The metal round a seat: under it, beside the girdle, and behind the culet.

Method. Lines go straight down from the girdle plane on rings inside the outline, and straight
out at girdle height, every few degrees; thicknesses along them are exact for the mesh, so a
thin place between two lines (5 degrees, parts of the radius as in `RINGS`) can be missed.
"""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from .arcs import Arc, runs
from .kinds import Flags, Floats, Ints, unit
from .polar import Crossings, downward, outward
from .skin import Skin, from_manifold
from .stone import Stone, around

ROUND = 72
BESIDE = 360
RINGS = (0.97, 0.9, 0.8, 0.7, 0.55)
SQUARE = 0.5
"""Faces met flatter than 60 degrees are the flank of a prong, not a wall beside the stone."""


@dataclass(frozen=True)
class Back:
    """The side that lies on the wearer: a plane (point, outward direction), or a bore for a
    finger (a point on its axis, the axis, and its radius in mm)."""

    point: Floats
    way: Floats
    radius: float | None = None

    def depth(self, at: Floats) -> float:
        """How far a point lies inside the metal side of the back, mm; negative: sticks out."""
        way = unit(np.asarray(self.way, dtype=float))
        go = np.asarray(at, dtype=float) - self.point
        if self.radius is None:
            return -float(go @ way)
        return float(np.linalg.norm(go - (go @ way) * way)) - self.radius


@dataclass(frozen=True)
class Below:
    """Metal round a seat, mm and degrees round the stone; inf where there is none.

    under: thinnest metal below the seat, under_at its place; bearing: arcs where the seat is
    within `touch` of the pavilion. beside: thinnest wall outside the girdle, beside_at;
    open_beside: arcs with no metal near the girdle (for a seat sunk in metal: broken through).
    culet: depth of the culet inside the back (negative: it sticks out); culet_gap: air between
    culet and metal straight below it.
    """

    under: float
    under_at: tuple[float, float, float] | None
    bearing: tuple[Arc, ...]
    beside: float
    beside_at: tuple[float, float, float] | None
    open_beside: tuple[Arc, ...]
    culet: float
    culet_gap: float


def below(
    stone: Stone, skin: Skin, back: Back | None = None, near: float = 0.3, touch: float = 0.05
) -> Below:
    """Measure the metal round the seat of a stone.

    `near` mm: metal farther out than this from the girdle is not its wall. Without `back` the
    culet is held against the lowest metal found under and beside the stone within three times
    its depth.
    """
    low, high = stone.girdle
    middle = (low + high) / 2
    tip = stone.tip
    rim = stone.radius(np.arange(BESIDE) * 360.0 / BESIDE)
    wide, deep = float(rim.max()), 3.0 * (middle - float(tip[2]))
    corners, _ = around(stone, skin, wide + near + 2.0, middle - deep, high)
    at, angle = _rings(rim)
    down = downward(corners, np.r_[at, tip[None, :2]], middle)
    under, where = _under(down, at, middle)
    walls = outward(corners, np.array([middle]), BESIDE)
    beside, side_at, open_side = _beside(walls, rim, near, middle)
    return Below(
        under,
        _place(stone, where),
        _bearing(stone, down, at, angle, middle, touch),
        beside,
        _place(stone, side_at),
        tuple(arc for arc, _ in runs(open_side)),
        _culet(stone, back, down, middle),
        _culet_gap(down, len(at), middle - float(tip[2])),
    )


def _rings(rim: Floats) -> tuple[Floats, Ints]:
    """Positions (n, 2) on the rings inside the outline, and the direction number of each."""
    number = np.arange(ROUND)
    angle = np.radians(number * 360.0 / ROUND)
    way = np.stack((np.cos(angle), np.sin(angle)), axis=1) * rim[:: BESIDE // ROUND, None]
    return np.concatenate([ring * way for ring in RINGS]), np.tile(number, len(RINGS))


def _under(down: Crossings, at: Floats, top: float) -> tuple[float, Floats | None]:
    """Thinnest metal below the rings, and where."""
    limit = np.full(len(at) + 1, 1e-6)
    first = down.first_after(limit)[: len(at)]
    ok = first >= 0
    ok[ok] = ~down.leaving[first[ok]] & (first[ok] + 1 < len(down.far))
    first, line = first[ok], np.flatnonzero(ok)
    same = (down.line[first + 1] == line) & down.leaving[first + 1]
    first, line = first[same], line[same]
    if not len(first):
        return np.inf, None
    thick = down.far[first + 1] - down.far[first]
    i = int(np.argmin(thick))
    depth = float(down.far[first[i]] + thick[i] / 2)
    return float(thick[i]), np.r_[at[line[i]], top - depth]


def _bearing(
    stone: Stone, down: Crossings, at: Floats, angle: Ints, top: float, touch: float
) -> tuple[Arc, ...]:
    """Arcs where the seat is against the pavilion on some ring."""
    from manifold3d import Manifold

    body = from_manifold(Manifold.hull_points(np.ascontiguousarray(stone.points)))
    stone_down = downward(stone.own(body.corners), at, top)
    limit = np.full(len(at), 1e-6)
    pavilion = stone_down.first_after(limit)
    seat = down.first_after(np.r_[limit, 0.0])[: len(at)]
    ok = (pavilion >= 0) & (seat >= 0)
    ok[ok] = ~down.leaving[seat[ok]]
    off = down.far[seat[ok]] - stone_down.far[pavilion[ok]]
    flags = np.zeros(ROUND, dtype=bool)
    flags[angle[ok][np.abs(off) <= touch]] = True
    return tuple(arc for arc, _ in runs(flags))


def _beside(
    walls: Crossings, rim: Floats, near: float, height: float
) -> tuple[float, Floats | None, Flags]:
    """Thinnest wall outside the girdle, its place, and the directions that are open."""
    enter = walls.first_after(rim - near)
    ok = enter >= 0
    ok[ok] = ~walls.leaving[enter[ok]] & (walls.far[enter[ok]] <= rim[ok] + near)
    open_side = ~ok & ~walls.within_metal(rim + near)
    enter, line = enter[ok], np.flatnonzero(ok)
    more = enter + 1 < len(walls.far)
    enter, line = enter[more], line[more]
    wall = (walls.line[enter + 1] == line) & walls.leaving[enter + 1]
    wall &= (walls.square[enter] > SQUARE) & (walls.square[enter + 1] > SQUARE)
    enter, line = enter[wall], line[wall]
    if not len(enter):
        return np.inf, None, open_side
    thick = walls.far[enter + 1] - walls.far[enter]
    i = int(np.argmin(thick))
    turn = np.radians(line[i] * 360.0 / len(rim))
    far = float(walls.far[enter[i]] + thick[i] / 2)
    return (
        float(thick[i]),
        np.array([far * np.cos(turn), far * np.sin(turn), height]),
        open_side,
    )


def _culet(stone: Stone, back: Back | None, down: Crossings, top: float) -> float:
    """Depth of the culet inside the back."""
    tip = stone.tip
    if back is not None:
        return back.depth(stone.world(tip))
    if not down.leaving.any():
        return np.inf
    return float(tip[2] - (top - down.far[down.leaving].max()))


def _culet_gap(down: Crossings, line: int, tip: float) -> float:
    """Air between the culet and the first metal straight below it."""
    below = np.flatnonzero((down.line == line) & (down.far >= tip - 1e-9) & ~down.leaving)
    return float(down.far[below[0]] - tip) if len(below) else np.inf


def _place(stone: Stone, at: Floats | None) -> tuple[float, float, float] | None:
    """A place in the stone's own axes as plain world numbers."""
    if at is None:
        return None
    x, y, z = stone.world(at).tolist()
    return x, y, z
