"""Faces to spread things upon: flat, turned, round a finger; mm, in the feature's own frame."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Protocol, runtime_checkable

import numpy as np

from ..measures.kinds import unit
from . import frames as fr
from .inside import inside_loops
from .outlines import Outline, signed_area, trace_all

# Row to row of a staggered field whose neighbours are one pitch apart.
ROW_RISE = math.sqrt(0.75)
# A face ends where it turns by more than this.
EDGE = math.radians(20.0)
# A turned face that looks down more steeply than this is the foot it stands on.
FOOT = -0.98
# Ways of stretching the rings of a turned face that are tried.
TRIES = 41
# Points that follow an arc.
POINTS = 8001
Part = tuple[float, float] | None
Span = tuple[np.ndarray, np.ndarray]


class Surface(Protocol):
    """A face of a feature, in its own frame; ``goes_round`` a finger or not, so that it has parts."""

    goes_round: bool

    def area(self) -> float:
        """Its area, mm2 (for caps)."""

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Frames (n, 3, 4) on it, z along the normal, neighbours ``every`` apart, none nearer than ``margin``
        to its edge; in a ``part`` of the way round only, in shares from the head."""

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Frames (n, 3, 4) on it at ``spots`` (n, 2), right and up from its middle, z along the
        normal; of what goes round a finger, along its outside from ``around`` radians off its
        head. No number where a spot lies beside it."""

    def span(self) -> Span:
        """The least and greatest spots, right and up, that `stood` may find on it."""


@runtime_checkable
class Edged(Protocol):
    """A face that goes round a finger between two edges, which rows can follow."""

    def bordered(self, step: float, margin: float, part: Part = None) -> np.ndarray:
        """Frames (n, 3, 4) in rows along both edges, the first ``margin`` inside them."""

    def halves(self, along: np.ndarray) -> np.ndarray:
        """How far its edges lie from its middle, (n,), ``along`` mm (n,) round from the head."""


def pitches(every: tuple[float, ...]) -> tuple[float, float]:
    """Pitch along a row and from row to row."""
    return every[0], every[1] if len(every) > 1 else every[0] * ROW_RISE


@dataclass(frozen=True)
class Flat:
    """A flat face at a height: inside an outline, outside a ``hole``, the ``rim`` taken off its edges."""

    outline: Outline
    height: float
    rim: float = 0.0
    hole: Outline | None = None
    goes_round = False

    def _loops(self) -> list[np.ndarray]:
        return trace_all(self.outline) + ([] if self.hole is None else trace_all(self.hole))

    def area(self) -> float:
        """Area of the outline."""
        return abs(signed_area(self._loops()[0]))

    def span(self) -> Span:
        """The box of its outline."""
        ends = np.concatenate(self._loops())
        return ends.min(axis=0), ends.max(axis=0)

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Straight below, where the outline holds it."""
        frames = fr.identity(len(spots))
        frames[:, :2, 3], frames[:, 2, 3] = spots, self.height
        frames[inside_loops(self._loops(), spots) < self.rim - 1e-6] = np.nan
        return frames

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Staggered rows, one through the middle, kept inside the outline."""
        loops = self._loops()
        step, rise = pitches(every)
        low, high = self.span()
        reach = (high - low) / 2
        spots = [
            (column * step + (step / 2 if row % 2 else 0.0), row * rise)
            for row in range(-int(reach[1] / rise) - 1, int(reach[1] / rise) + 2)
            for column in range(-int(reach[0] / step) - 2, int(reach[0] / step) + 3)
        ]
        inside = np.array(spots) + (low + high) / 2
        inside = inside[inside_loops(loops, inside) > margin + self.rim - 1e-6]
        frames = fr.identity(len(inside))
        frames[:, :2, 3] = inside
        frames[:, 2, 3] = self.height
        return frames


@dataclass(frozen=True, eq=False)
class Carried:
    """A face that stood at some frames and was bent with its metal: ``carry`` takes frames along."""

    face: Surface
    frames: np.ndarray
    carry: Callable[[np.ndarray], np.ndarray]
    goes_round = False

    def area(self) -> float:
        """Area before the bending."""
        return self.face.area() * len(self.frames)

    def span(self) -> Span:
        """As on the flat."""
        return self.face.span()

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """As on the flat, and carried along; one copy only."""
        flat = fr.compose(self.frames[:1], self.face.stood(spots))
        there = np.isfinite(flat).all(axis=(1, 2))
        flat[there] = self.carry(flat[there])
        return flat

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Spread as on the flat and carried along; what bending stretches is evened out once."""
        flat = fr.compose(self.frames, self.face.spread(every, margin, part))
        bent = self.carry(flat)
        if len(bent) < 2:
            return bent
        scale = _nearest(flat) / _nearest(bent)
        if abs(scale - 1.0) < 1e-3:
            return bent
        wider = tuple(one * scale for one in every)
        return self.carry(fr.compose(self.frames, self.face.spread(wider, margin, part)))


def _nearest(frames: np.ndarray) -> float:
    """The least distance between two of the frames."""
    at = frames[:, :, 3]
    return min(float(np.linalg.norm(at[k + 1 :] - at[k], axis=1).min()) for k in range(len(at) - 1))


# -- turned faces ----------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Turned:
    """A body turned about z: ``profile`` (n, 2), (from the axis, height), foot to tip, metal to its left."""

    profile: np.ndarray
    goes_round = False

    @cached_property
    def _faces(self) -> list[_Run]:
        """The smooth stretches that look out, each from above."""
        path = self.profile[::-1]
        chords = np.diff(path, axis=0)
        keep = np.r_[True, np.linalg.norm(chords, axis=1) > 1e-9]
        path = path[keep]
        chords = np.diff(path, axis=0)
        way = np.arctan2(chords[:, 1], chords[:, 0])
        turn = np.abs((np.diff(way) + math.pi) % (2 * math.pi) - math.pi)
        stops = [0, *(1 + np.flatnonzero(turn > EDGE)), len(chords)]
        runs = [_Run(path[a : b + 1]) for a, b in itertools.pairwise(stops) if b > a]
        return [run for run in runs if run.looks_out()]

    def area(self) -> float:
        """Area of its faces."""
        return sum(run.area() for run in self._faces)

    def span(self) -> Span:
        """As wide as it is."""
        wide = np.full(2, self.profile[:, 0].max())
        return -wide, wide

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Straight below on the uppermost of its faces, right kept to the right."""
        away = np.linalg.norm(spots, axis=1)
        best = np.full((len(spots), 3), np.nan)  # height; how it looks, aside and up
        for face, first, last in ((run, *ends) for run in self._faces for ends in run.one_way()):
            reach, along = face.path[first : last + 1, 0], face.stations[first : last + 1]
            if reach[0] > reach[-1]:
                reach, along = reach[::-1], along[::-1]
            points, outs = face.at(np.interp(away, reach, along))
            met = (away >= reach[0] - 1e-6) & (away <= reach[-1] + 1e-6)
            met &= ~(points[:, 1] <= best[:, 0])
            best[met] = np.column_stack([points[:, 1], outs])[met]
        unit = spots / np.maximum(away, 1e-12)[:, None]
        out = np.column_stack([unit * best[:, 1:2], best[:, 2]])
        right = np.tile((1.0, 0.0, 0.0), (len(spots), 1))
        right[np.abs(out[:, 0]) > 0.999] = (0.0, 0.0, -1.0)
        right = right - (right * out).sum(axis=1, keepdims=True) * out
        return fr.from_axes(np.column_stack([spots, best[:, 0]]), right, out)

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Rings round the axis, each closed evenly, spread so that the widest gap is least."""
        step, rise = every[0], every[-1]
        found = [run.rings(step, rise, margin) for run in self._faces]
        return np.concatenate(found) if found else np.zeros((0, 3, 4))


@dataclass(frozen=True, eq=False)
class _Run:
    """One smooth stretch of a profile, running down: the way it looks is to its left."""

    path: np.ndarray

    @cached_property
    def stations(self) -> np.ndarray:
        """Length along the path at each point."""
        return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(self.path, axis=0), axis=1))]

    @cached_property
    def _outs(self) -> np.ndarray:
        """The way it looks at each point, unit (n, 2)."""
        chords = unit(np.diff(self.path, axis=0))
        mean = np.concatenate([chords[:1], chords[:-1] + chords[1:], chords[-1:]])
        if len(chords) > 1:  # the ends turn on as their neighbours do
            mean[0] = 1.5 * chords[0] - 0.5 * chords[1]
            mean[-1] = 1.5 * chords[-1] - 0.5 * chords[-2]
        return unit(np.stack([-mean[:, 1], mean[:, 0]], axis=1))

    def one_way(self) -> Iterator[tuple[int, int]]:
        """Its parts, first to last point, along which it only leaves the axis or only nears it."""
        way = np.diff(self.path[:, 0]) > 0
        stops = [0, *(1 + np.flatnonzero(way[1:] != way[:-1])).tolist(), len(way)]
        return itertools.pairwise(stops)

    def looks_out(self) -> bool:
        """Whether it is a face: neither the foot nor the inside of a wall."""
        chords = np.diff(self.path, axis=0)
        out = np.array([-chords[:, 1].sum(), chords[:, 0].sum()])
        out = out / np.linalg.norm(out)
        return bool(out[0] > -0.3 and out[1] > FOOT)

    def area(self) -> float:
        """Area of the face."""
        radius = (self.path[1:, 0] + self.path[:-1, 0]) / 2
        return float((2 * math.pi * radius * np.diff(self.stations)).sum())

    def at(self, along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points and the way they look (n, 2) at lengths along the path."""
        points, outs = (
            np.stack([np.interp(along, self.stations, row[:, k]) for k in (0, 1)], axis=1)
            for row in (self.path, self._outs)
        )
        axis = points[:, 0] < 1e-9  # there it looks along it
        outs[axis] = np.stack([np.zeros(axis.sum()), np.sign(outs[axis, 1])], axis=1)
        return points, unit(outs)

    def rings(self, step: float, rise: float, margin: float) -> np.ndarray:
        """Frames of its rings."""
        top, low = self.path[0, 0] < 1e-9, self.path[-1, 0] < 1e-9
        first = 0.0 if top else margin
        last = self.stations[-1] - (0.0 if low else margin)
        if last < first - 1e-9:
            return np.zeros((0, 3, 4))
        rise *= self._bulge(first, last, rise)
        count = int((last - first) / rise + 1e-9)
        slack = last - first - count * rise
        tries = [
            first + np.arange(count + 1) * (rise + share * slack / max(count, 1))
            for share in np.linspace(0.0, 1.0, TRIES if count else 1)
        ]
        along = min(tries, key=lambda one: self._widest(one, step, rise, last))
        points, outs = self.at(along)
        found, turn = [], 0.0
        for (radius, height), (aside, up) in zip(points, outs, strict=True):
            number = _round_count(float(radius), step)
            if number == 0:
                continue
            turn += 180.0 / number
            start = 0.0 if number == 1 else turn
            lean = fr.turned(1, math.degrees(math.atan2(aside, up)))
            lean[0, :, 3] = (radius, 0.0, height)
            found += [fr.compose(fr.turned(2, start + k * 360.0 / number), lean) for k in range(number)]
        return np.concatenate(found) if found else np.zeros((0, 3, 4))

    def _bulge(self, first: float, last: float, rise: float) -> float:
        """How much longer than the pitch the way must be where the face bends most."""
        along = np.arange(first, last - rise + 1e-9, rise / 4)
        straight = np.linalg.norm(self.at(along + rise)[0] - self.at(along)[0], axis=1)
        return float(rise / straight.min()) if len(straight) else 1.0

    def _widest(self, along: np.ndarray, step: float, rise: float, last: float) -> float:
        """How far the widest gap is over the pitch, in pitches."""
        radius = self.at(along)[0][:, 0]
        numbers = np.array([_round_count(float(one), step) for one in radius])
        aside = 2 * radius * np.sin(math.pi / np.maximum(numbers, 2)) / step
        aside[numbers < 2] = 1.0
        down = np.diff(along).max() / rise if len(along) > 1 else 1.0
        return float(max(aside.max(), down) + 0.5 * (last - along[-1]) / rise)


def _round_count(radius: float, step: float) -> int:
    """How many stand round a circle, ``step`` mm apart or more: one on the axis, none without room."""
    if radius < 1e-6:
        return 1
    if radius < 0.5 * step:
        return 0
    return int(math.pi / math.asin(min(1.0, step / (2 * radius))) + 1e-9)


@lru_cache(maxsize=64)
def cap(across: float, high: float) -> Turned:
    """A cap of a ball on its ground: ``across`` at the rim, ``high`` in the middle."""
    radius = (across**2 / 4 + high**2) / (2 * high)
    angles = math.acos(max(-1.0, 1 - high / radius)) * np.linspace(1.0, 0.0, POINTS)
    profile = np.stack([radius * np.sin(angles), high - radius + radius * np.cos(angles)], axis=1)
    profile[-1, 0] = 0.0
    return Turned(profile)


@lru_cache(maxsize=64)
def ball_face(across: float) -> Turned:
    """A ball resting on its ground."""
    angles = math.pi * np.linspace(-0.5, 0.5, POINTS)
    profile = across / 2 * np.stack([np.cos(angles), 1.0 + np.sin(angles)], axis=1)
    profile[[0, -1], 0] = 0.0
    return Turned(profile)
