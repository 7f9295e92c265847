"""Runs of spots as few lines and circular arcs within a tolerance: compact and truly round."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

_CORNER = math.cos(math.radians(32.0))  # a sharper turn is a corner: no arc passes it
_FEWEST = 4  # spots an arc must explain, else it is lines
_WIDEST = math.radians(125.0)  # of an arc: a wider one bulges when its radius is rounded
_LARGEST = 4000.0  # pixels: a flatter arc is a line
Spot = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """A line to ``end``; with ``radius`` an arc of up to a third of a turn, ``clockwise`` as seen
    with y down (the sense SVG sweeps)."""

    end: Spot
    radius: float = 0.0
    clockwise: bool = False


@dataclass(frozen=True)
class Run:
    """A pen stroke from ``start`` on."""

    start: Spot
    strokes: tuple[Stroke, ...]
    closed: bool

    def length(self) -> float:
        """Length along the chords."""
        total, here = 0.0, self.start
        for stroke in self.strokes:
            total += math.dist(here, stroke.end)
            here = stroke.end
        return total


@dataclass(frozen=True)
class Fit:
    """How runs are fitted, pixels: no spot farther away than ``tolerance``; ``corners`` keeps
    sharp turns exactly where they are; ``chord`` is how far the chords of the spots may lie
    inside a true curve; an arc is worth its room when it stands for ``worth`` lines."""

    tolerance: float
    corners: bool = True
    chord: float = 0.0
    worth: float = 0.0

    @property
    def rise(self) -> float:
        """How far the chords of an arc's spots may lie inside it."""
        return max(2 * self.tolerance, 1.2 * self.chord)


def fitted(spots: np.ndarray, fit: Fit) -> Run:
    """``spots`` (k, 2), closed when the last is the first, as lines and arcs."""
    closed = len(spots) > 3 and bool((spots[0] == spots[-1]).all())
    breaks = _corners(spots, closed) if fit.corners else []
    circle = _circle(spots, fit) if closed and not breaks else None
    if circle is not None:
        return circle
    if closed and len(breaks) and breaks[0] != 0:
        spots = np.concatenate([spots[breaks[0] :], spots[1 : breaks[0] + 1]])
        breaks = [k - breaks[0] for k in breaks]
    stops = [k for k in breaks if 0 < k < len(spots) - 1]
    if closed and not stops:  # an arc needs two ends
        stops = [len(spots) // 2]
    strokes: list[Stroke] = []
    for first, last in zip([0, *stops], [*stops, len(spots) - 1], strict=True):
        strokes += _pieces(spots[first : last + 1], fit)
    return Run(_spot(spots[0]), tuple(strokes), closed)


def _circle(spots: np.ndarray, fit: Fit) -> Run | None:
    """A closed run as three arcs of a circle, if it is one: least squares, x2 + y2 = ax + by + c."""
    if len(spots) < 8:
        return None
    shift = spots[:-1].mean(axis=0)
    rest = spots[:-1] - shift
    table = np.column_stack([rest, np.ones(len(rest))])
    (a, b, c), *_ = np.linalg.lstsq(table, (rest**2).sum(axis=1), rcond=None)
    centre = np.array([a, b]) / 2
    radius = math.sqrt(max(float(c + centre @ centre), 0.0))
    arms = rest - centre
    if radius <= 0 or np.abs(np.hypot(arms[:, 0], arms[:, 1]) - radius).max() > fit.tolerance:
        return None
    longest = float(np.hypot(*np.diff(spots, axis=0).T).max()) / radius
    if radius * longest**2 / 8 > fit.rise:
        return None
    way = arms[0] / np.hypot(*arms[0]) * radius
    turn = float((arms[:-1, 0] * arms[1:, 1] - arms[:-1, 1] * arms[1:, 0]).sum())
    if abs(turn) < 4 * radius**2:  # to and fro on a part of it
        return None
    third = np.sign(turn) * 2 * math.pi / 3
    ways = (way * math.cos(at) + np.array([-way[1], way[0]]) * math.sin(at) for at in (third, -third, 0.0))
    strokes = tuple(Stroke(_spot(centre + shift + one), radius, turn > 0) for one in ways)
    return Run(strokes[-1].end, strokes, True)


def _spot(spot: np.ndarray) -> Spot:
    return (float(spot[0]), float(spot[1]))


def _corners(spots: np.ndarray, closed: bool) -> list[int]:
    """Where the run turns sharply; the ends of an open run are not counted."""
    ways = np.diff(spots, axis=0)
    ways /= np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)[:, None]
    turn = (ways[:-1] * ways[1:]).sum(axis=1)
    found = [int(k) + 1 for k in np.flatnonzero(turn < _CORNER)]
    if closed and float(ways[0] @ ways[-1]) < _CORNER:
        found.insert(0, 0)
    return found


def _pieces(spots: np.ndarray, fit: Fit) -> list[Stroke]:
    """A smooth run as one stroke, or as those of its halves."""
    a, b = spots[0], spots[-1]
    off, middle = _off_line(spots)
    if off <= fit.tolerance and (len(spots) < 3 or not (a == b).all()):
        return [Stroke(_spot(b))]
    if len(spots) >= _FEWEST:
        arc = _arc(spots, fit)
        if arc is not None:
            return [arc]
    if off <= fit.tolerance:
        return [Stroke(_spot(b))]
    if len(spots) == 3:
        return [Stroke(_spot(spots[1])), Stroke(_spot(b))]
    return _pieces(spots[: middle + 1], fit) + _pieces(spots[middle:], fit)


def _off_line(spots: np.ndarray) -> tuple[float, int]:
    """Farthest from the straight line between the ends, and which spot to part a run at."""
    a, b = spots[0], spots[-1]
    way = b - a
    length = math.hypot(way[0], way[1])
    rest = spots - a
    if length < 1e-9:
        off = np.hypot(rest[:, 0], rest[:, 1])
    else:
        off = np.abs(rest[:, 0] * way[1] - rest[:, 1] * way[0]) / length
        along = (rest @ way) / length
        off = np.maximum(off, np.maximum(-along, along - length))
    farthest = int(off.argmax())
    return float(off[farthest]), min(max(farthest, 1), len(spots) - 2) if len(spots) > 2 else 0


def _arc(spots: np.ndarray, fit: Fit) -> Stroke | None:
    """One arc through the ends and the middle spot that stays by the others, or None."""
    a, m, b = spots[0], spots[len(spots) // 2], spots[-1]
    u, v = m - a, b - a
    area = float(u[0] * v[1] - u[1] * v[0])
    if abs(area) < 1e-9:
        return None
    uu, vv = float(u @ u), float(v @ v)
    centre = a + np.array([v[1] * uu - u[1] * vv, u[0] * vv - v[0] * uu]) / (2 * area)
    radius = math.dist(a, centre)
    if radius > _LARGEST:
        return None
    arms = spots - centre
    if np.abs(np.hypot(arms[:, 0], arms[:, 1]) - radius).max() > fit.tolerance:
        return None
    steps = (arms[:-1, 0] * arms[1:, 1] - arms[:-1, 1] * arms[1:, 0]) / radius**2
    longest = float(np.abs(steps).max())  # sines of the steps from spot to spot
    sweep = float(np.arcsin(np.clip(steps, -1.0, 1.0)).sum())
    if longest > 0.7 or abs(sweep) > _WIDEST or (steps * sweep < -1e-9).any():
        return None
    # A chord's middle lies inside the arc by its sagitta: do not round what is truly angular.
    if radius * longest**2 / 8 > fit.rise:
        return None
    if abs(sweep) < fit.worth * 2 * math.acos(max(1 - fit.tolerance / radius, 0.0)):
        return None
    return Stroke(_spot(b), radius, sweep > 0)
