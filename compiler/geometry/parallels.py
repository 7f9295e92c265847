"""Parallel curves: a loop moved to its side, its points on the true parallel of its true curve."""

from __future__ import annotations

import math

import numpy as np

from ..measures.kinds import flat_cross, unit

# A turn sharper than this is a corner, not a step of a curve.
CORNER = math.radians(20.0)
# So is one this sharp that turns so many times more than the points beside it.
KINK, LONE = math.radians(3.0), 4.0
# Chords that differ more in length belong to different curves, or one of them to none.
ALIKE = 0.25
# A mitre runs out so many times the shift at most; a sharper tip is cut square.
MITRE = 4.0
# The kernel's outlines lie on a grid of so many points to the mm; what turns less is straight.
KERNEL_GRID, STRAIGHT = 2.0**27, 1e-6
CRUMB = 0.01  # mm, of a chord beside a corner
ROUND_STEP = math.radians(1.5)


def next_of(loop: np.ndarray) -> np.ndarray:
    """What comes next at each point of a closed loop (n, ...): its members moved up by one."""
    return np.concatenate([loop[1:], loop[:1]])


def prior_of(loop: np.ndarray) -> np.ndarray:
    """What came last at each point of a closed loop (n, ...)."""
    return np.concatenate([loop[-1:], loop[:-1]])


def parallel(loop: np.ndarray, by: float, rounded: bool = False) -> np.ndarray:
    """A closed loop (n, 2) moved inward by ``by`` mm (outward if negative), counter-clockwise: its largest
    part, (0, 2) when nothing is left, beginning where the loop does. A corner that opens gets a mitre, or a
    round tip if ``rounded``."""
    if signed_area(loop) < 0:
        loop = np.roll(loop[::-1], 1, axis=0)
    chord = next_of(loop) - loop
    first, last = (left_of(ways) for ways in tangents(loop))
    moved = loop + by * first
    corner = is_corner(signed_turns(loop))
    shrunk = (next_of(moved) - moved) * chord
    spent = shrunk.sum(axis=1) < 0
    spent |= prior_of(spent)
    if not corner.any() and not spent.any():
        return _begun(_cleaned(moved), loop[0], by * first[0])
    # Where a bend is used up its chords part, as sides do at a corner.
    bare = left_of(unit(chord))
    used = (spent & ~corner)[:, None]
    begins = by * (first[0] + last[0])
    first, last = np.where(used, prior_of(bare), first), np.where(used, bare, last)
    parts = [
        _joint(loop[k], by, first[k], last[k], rounded)
        if corner[k] or spent[k]
        else moved[k : k + 1]
        for k in range(len(loop))
    ]
    return _begun(_cleaned(np.concatenate(parts)), loop[0], begins)


def tangents(loop: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unit tangents (n, 2) of the true curve through a closed loop's points, as it comes to each
    point and as it leaves it: alike but at corners."""
    chord = next_of(loop) - loop
    ahead, length = unit(chord), np.linalg.norm(chord, axis=1)
    before = prior_of(length)
    # A curve turns evenly along its chords; of two curves traced to one tolerance, or a curve and
    # a straight, the shorter chord turns more.
    alike = np.abs(length - before) <= ALIKE * np.maximum(length, before)
    share = np.where(alike, before, length) / np.maximum(length + before, 1e-300)
    turn = signed_turns(loop)
    smooth = ~is_corner(turn)
    into, beyond = (np.where(smooth, turn * part, 0.0) for part in (share, 1.0 - share))
    # A chord that ends in a corner goes on bending as it does at its other end.
    comes = np.where(smooth, into, prior_of(beyond))
    leaves = np.where(smooth, -beyond, -next_of(into))
    return _turned(prior_of(ahead), comes), _turned(ahead, leaves)


def is_corner(turn: np.ndarray) -> np.ndarray:
    """Which turns (n,) of a closed loop, radians, are corners: sharp ones, and slight ones in one spot."""
    size = np.abs(turn)
    slight = np.where(size > CORNER, 0.0, size)
    lone = size > LONE * np.maximum(prior_of(slight), next_of(slight))
    return (size > CORNER) | (lone & (size > KINK))


def signed_turns(loop: np.ndarray) -> np.ndarray:
    """How far a closed loop turns at each point, radians, to the left positive."""
    chord = next_of(loop) - loop
    before = prior_of(chord)
    return np.asarray(np.arctan2(flat_cross(before, chord), (before * chord).sum(axis=1)))


def left_of(ways: np.ndarray) -> np.ndarray:
    """Ways (n, 2) turned a quarter to the left."""
    return np.stack([-ways[:, 1], ways[:, 0]], axis=1)


def _turned(ways: np.ndarray, angles: np.ndarray) -> np.ndarray:
    cosine, sine = np.cos(angles), np.sin(angles)
    x, y = ways.T
    return np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=1)


def _joint(spot: np.ndarray, by: float, first: np.ndarray, last: np.ndarray, rounded: bool) -> np.ndarray:
    """The points of a moved corner between sides whose left is ``first`` and ``last``."""
    turn = math.atan2(first[0] * last[1] - first[1] * last[0], float(first @ last))
    if turn * by >= 0:  # it closes: its sides cross, and what lies beyond is cleaned away
        return np.stack([spot + by * first, spot, spot + by * last])
    if rounded:
        steps = max(2, math.ceil(abs(turn) / ROUND_STEP))
        return spot + by * _turned(np.tile(first, (steps + 1, 1)), turn * np.linspace(0, 1, steps + 1))
    half = math.cos(turn / 2)
    if half * MITRE >= 1.0:
        return (spot + by * (first + last) / (2 * half * half))[None]
    # Cut square: a side across the tip, as far out as the shift.
    out = abs(by) * math.tan(abs(turn) / 4) * left_of(np.stack([-first, last]))
    return np.stack([spot + by * first + out[0], spot + by * last + out[1]])


def signed_area(points: np.ndarray) -> float:
    """Area of a closed polygon (n, 2), mm2, positive when counter-clockwise."""
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float(np.dot(x, next_of(y)) - np.dot(y, next_of(x)))


def runs_once(turns: np.ndarray) -> bool:
    """Whether a closed polygon with these turns, radians, turns one way and once round: it crosses
    nothing."""
    one_way = (turns >= 0).all() or (turns <= 0).all()
    return bool(one_way and np.abs(turns).max() < 3.0 and abs(abs(turns.sum()) - math.tau) < 1e-6)


def _begun(loop: np.ndarray, spot: np.ndarray, way: np.ndarray) -> np.ndarray:
    """A closed loop (n, 2) from where a ray from a spot first meets it, else the point nearest to that."""
    if not len(loop):
        return loop
    chord, go = next_of(loop) - loop, loop - spot
    across = flat_cross(way[None], chord)
    safe = np.where(across == 0.0, np.inf, across)
    far, share = flat_cross(go, chord) / safe, flat_cross(go, way[None]) / safe
    far[(across == 0.0) | (far <= 0.0) | (share < 0.0) | (share > 1.0)] = np.inf
    k = int(far.argmin())
    met = loop[k] + share[k] * chord[k]
    near = int(np.linalg.norm(loop - (met if np.isfinite(far[k]) else spot), axis=1).argmin())
    if not np.isfinite(far[k]) or np.linalg.norm(loop[near] - met) < CRUMB:
        return np.roll(loop, -near, axis=0)
    return np.concatenate([met[None], loop[k + 1 :], loop[: k + 1]])


def _cleaned(moved: np.ndarray) -> np.ndarray:
    """The largest part of what a loop that may cross itself runs round once, to the left."""
    turns = signed_turns(moved)
    if (turns > STRAIGHT).all() and runs_once(turns):  # as the kernel gives it, from its lowest point on
        loop = np.round(moved * KERNEL_GRID) / KERNEL_GRID
        return np.roll(loop, -1 - int(np.lexsort((-loop[:, 0], loop[:, 1]))[0]), axis=0)
    from manifold3d import CrossSection, FillRule

    polygons = CrossSection([moved], FillRule.Positive).to_polygons()
    if not polygons:
        return np.zeros((0, 2))
    return _trimmed(max((np.array(loop, dtype=float) for loop in polygons), key=signed_area))


def _trimmed(loop: np.ndarray) -> np.ndarray:
    """A cleaned loop without the crumb of a bend that a crossing left beside the corner it made: moved
    again, it would stand as a corner of its own."""
    corner = is_corner(signed_turns(loop))
    short = np.linalg.norm(next_of(loop) - loop, axis=1) < CRUMB
    return np.asarray(loop[corner | ~((short & next_of(corner)) | (prior_of(short) & prior_of(corner)))])
