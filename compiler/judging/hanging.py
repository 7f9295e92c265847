"""What a piece hangs by: its loops, the free opening of each, and how it comes to rest.

Axes: x right, y up, z to the onlooker. The chain is taken to pull straight up on one loop, and at `PULL`
degrees from level on each of two; it slides to the side of the loop it pulls at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..bench.hung import own_loops
from ..bench.slid import straps
from ..measures.hang import ASIDE, Hang, hang
from ..measures.kinds import Floats, flat_cross, frame_of
from ..measures.section import cuts
from ..measures.skin import Skin
from .eyes import eyes_of
from .piece import Piece

PULL = 45.0
SIDEWAYS = 45.0  # degrees from as it is drawn, from which a piece hangs by its side
LEVEL = 0.25  # loops within this share of the height below the highest one carry the piece
ALIKE = 1.5  # times as wide inside as the other, at most, a loop of a pair: a smaller one is a charm's eye
APART = 0.25  # two loops farther apart than this share of the width make a pair
TRIES = 13  # spots across a loop where the largest circle is sought
FREE = 0.8  # of an eye: what stands in it otherwise is meant to
INNER = 0.6  # of the opening, within which a chain passes
BEST = 6  # of them, from which it is sought more closely


@dataclass(frozen=True)
class Loop:
    """One loop in the piece: the feature, middle of its hole (3,), its axis (3,), inside
    diameter and wire, mm."""

    feature: int
    middle: Floats
    axis: Floats
    inside: float
    wire: float

    @property
    def across(self) -> tuple[Floats, Floats]:
        """Two directions in the plane of its hole, square to each other."""
        return frame_of(self.axis)

    @property
    def wire_spot(self) -> Floats:
        """A spot in the middle of its wire (3,)."""
        return self.middle + (self.inside + self.wire) / 2 * self.across[0]

    def pulled(self, way: Floats) -> Floats:
        """Where a chain pulling along ``way`` bears on the inside of the loop."""
        flat = way - (way @ self.axis) * self.axis
        size = float(np.linalg.norm(flat))
        return self.middle if size < 0.2 else self.middle + flat / size * self.inside / 2


@dataclass(frozen=True)
class Rest:
    """How the piece hangs: on which loops, statics, how far (mm) and, by its own weight, by what share of its
    height the support lies above the centre of mass, weight (g) and centre (3,) of all that hangs by it."""

    loops: tuple[Loop, ...]
    hang: Hang
    above: float
    share: float
    grams: float
    centre: Floats

    @property
    def sideways(self) -> bool:
        """Whether it comes to hang by one of its sides."""
        return self.hang.kind == "one" and SIDEWAYS < abs(self.hang.tilt_side) <= 180.0 - SIDEWAYS


def loops_of(piece: Piece) -> list[Loop]:
    """Every loop of the piece, copies counted singly; without any, the eyes drilled in it."""
    found = []
    every = [loop for feature in piece.features for loop in own_loops((feature,))]
    for one, frames in (*every, *straps(piece.features, piece.bench.lines)):  # a group's parts are lines too
        inside, wire = one.opening or (0.0, 0.0)
        found += [Loop(one.index, frame[:, 3], frame[:, 2], inside, wire) for frame in frames]
    if found:
        return found
    eyes = (Loop(*eye) for eye in eyes_of(piece))
    return [eye for eye in eyes if free_opening(eye, piece.skin_measures.skin) > FREE * eye.inside]


def opens_on_both_sides(loop: Loop, skin: Skin) -> bool:
    """Whether a chain can pass a loop: on neither side metal lies right behind all of its opening."""
    one, two = loop.across
    turn = np.linspace(0.0, 2 * np.pi, 8, endpoint=False)[:, None]
    spots = loop.middle + INNER * loop.inside / 2 * (np.cos(turn) * one + np.sin(turn) * two)
    way = np.repeat([loop.axis, -loop.axis], len(spots), axis=0)
    start = np.concatenate((spots, spots))
    met = skin.grid.cast(start, way, leaving=False, reach=loop.wire)[1] >= 0
    return not met.reshape(2, -1).all(axis=1).any()


def carrying(loops: list[Loop], skin: Skin) -> tuple[Loop, ...]:
    """The one loop or the two that carry the piece: the highest, outermost ones."""
    low, high = skin.box
    tops = max((loop.middle[1] for loop in loops), default=0.0)
    upper = [p for p in loops if p.middle[1] >= tops - LEVEL * (high[1] - low[1])]
    if not upper:
        return ()
    left, right = _outermost(upper)
    if left is right:  # of a low wide piece the one at its other end may stand lower, by its way from there
        off = [abs(loop.middle[0] - left.middle[0]) for loop in loops]
        near = [one for one, far in zip(loops, off, strict=True) if one.middle[1] >= tops - LEVEL * far]
        both = _outermost(near)
        left, right = both if any(one is left for one in both) else (left, right)
    apart = right.middle[0] - left.middle[0]
    middle = (low[0] + high[0]) / 2
    if apart > APART * (high[0] - low[0]) and left.middle[0] < middle < right.middle[0]:
        small, wide = sorted((left, right), key=lambda loop: loop.inside)
        if wide.inside > ALIKE * small.inside:
            return carrying([loop for loop in upper if loop is not small], skin)
        return left, right
    return (max(upper, key=lambda loop: (loop.middle[1], -loop.feature)),)


def _outermost(loops: list[Loop]) -> tuple[Loop, Loop]:
    left = min(loops, key=lambda loop: (loop.middle[0], loop.feature))
    return left, max(loops, key=lambda loop: (loop.middle[0], loop.feature))


def at_rest(loops: tuple[Loop, ...], grams: float, centre: Floats, skin: Skin) -> Rest | None:
    """How the piece hangs by its carrying loops; None without any."""
    if not loops:
        return None
    low, high = skin.box
    aside = centre - loops[0].middle
    side = float(np.degrees(np.arctan2(aside[0], -aside[1])))
    beside = np.hypot(aside[0], aside[1]) > ASIDE * abs(aside[2])  # else the weight is before it or behind
    if len(loops) == 1 and beside and SIDEWAYS < abs(side) <= 180.0 - SIDEWAYS:
        return _sideways(loops, grams, centre, side, skin)
    turn = np.radians(90.0 if len(loops) == 1 else PULL)
    ways = [np.array([side * np.cos(turn), np.sin(turn), 0.0]) for side in (-1.0, 1.0)]
    supports = [loop.pulled(way) for loop, way in zip(loops, ways, strict=False)]
    found = hang(centre.tolist(), [support.tolist() for support in supports])
    above = float(np.mean([support[1] for support in supports]) - centre[1])
    return Rest(loops, found, above, above / max(float(high[1] - low[1]), 1e-9), grams, centre)


def _sideways(loops: tuple[Loop, ...], grams: float, centre: Floats, side: float, skin: Skin) -> Rest:
    """At rest by one loop beside the middle: turned so far that its side hangs below, and bears there."""
    aside = centre - loops[0].middle
    down = np.array([aside[0], aside[1], 0.0]) / np.hypot(aside[0], aside[1])
    above = float(aside @ down) + loops[0].inside / 2
    forward = float(np.degrees(np.arctan2(aside[2], above)))
    found = Hang("one", forward, side, False, (1.0,), False)
    return Rest(loops, found, above, above / float(np.ptp(skin.points @ down)), grams, centre)


def free_opening(loop: Loop, skin: Skin) -> float:
    """Diameter of the largest circle that is clear of metal in the plane of a loop's hole, mm: the wire that
    passes it.

    Its middle is sought on a lattice across the hole and again, finer, round the best spots; good to about a
    hundredth of the inside."""
    turn = np.stack((*frame_of(loop.axis), loop.axis))
    height = (skin.points - loop.middle) @ turn[2]
    high = height[skin.triangles]
    face = np.flatnonzero((high.min(axis=1) <= 0) & (high.max(axis=1) >= 0))
    start, end, _, _ = cuts((skin.corners[face] - loop.middle) @ turn.T, np.zeros(1))
    if not len(start):
        return loop.inside
    spots, rooms = np.zeros((1, 2)), np.zeros(1)
    for size in (loop.inside / 2, loop.inside / TRIES, loop.inside / TRIES**2):
        steps = np.linspace(-size, size, TRIES)
        lattice = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        tries, far = _tried(spots, lattice, start, end)
        kept = np.hypot(*tries.T) < loop.inside / 2
        tries, far = tries[kept], far[kept]
        found: list[int] = []
        for k in np.argsort(-far, kind="stable").tolist():
            if not _in_metal(tries[k], start, end):
                found.append(k)
            if len(found) == BEST:
                break
        if not found:
            return 0.0
        spots, rooms = tries[found], far[found]
    return 2 * float(rooms[0])


def _tried(spots: Floats, lattice: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Some spots and the lattice round each, and how far each of all those is from the lines."""
    off = _off(spots, start, end)
    span = 2 * float(np.hypot(*lattice.T).max()) + 1e-9
    tries, far = [spots], [off.min(axis=1)]
    for spot, away in zip(spots, off, strict=True):
        near = away <= away.min() + span  # no other line is the nearest to any of the lattice
        tries.append(spot + lattice)
        far.append(_off(tries[-1], start[near], end[near]).min(axis=1))
    return np.concatenate(tries), np.concatenate(far)


def clear(at: Floats, start: Floats, end: Floats) -> Floats:
    """Distance from each spot (n, 2) to the nearest cut line (m, 2), (n,)."""
    return np.asarray(_off(at, start, end).min(axis=1))


def _off(at: Floats, start: Floats, end: Floats) -> Floats:
    """Distance from each spot (n, 2) to each cut line (m, 2), (n, m)."""
    (wx, wy), (sx, sy) = (end - start).T, start.T
    size = np.maximum(wx**2 + wy**2, 1e-18)
    gx, gy = at[:, :1] - sx, at[:, 1:] - sy
    along = np.clip((gx * wx + gy * wy) / size, 0.0, 1.0)
    gx -= along * wx
    gy -= along * wy
    return np.sqrt(gx * gx + gy * gy)


def _in_metal(spot: Floats, start: Floats, end: Floats) -> bool:
    """Whether cut lines, metal on their left, go once round a spot (2,)."""
    one, two = start - spot, end - spot
    return float(np.arctan2(flat_cross(one, two), (one * two).sum(axis=1)).sum()) > np.pi
