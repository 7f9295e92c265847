"""The outside of wire as a face to lay things upon. Lengths in mm, angles in radians from the head."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.surfaces import Part, Span, Surface, pitches

FINE = 0.001  # mm, how fine the section is drawn
SLIGHT = 1e-9  # radians, by which an end is met
HALF = 1e-3  # radians; a half hoop goes round too


@dataclass(frozen=True, eq=False)
class WireFace:
    """The side to which wire along ``line`` looks, as wide as its section is there. Its middle is half
    way, or the head where it goes round finger or wrist; right runs on along the wire, up across it."""

    line: Line
    section: str
    wide: float
    high: float
    widths: tuple[float, ...] = (1.0,)
    soften: float = 0.0

    @cached_property
    def _upper(self) -> np.ndarray:
        """The upper side of the section as (across, outward), from -wide / 2 to wide / 2."""
        from .makers import wire_section

        drawn = wire_section(self.section, self.wide, self.high, FINE, self.soften)
        across = np.linspace(-self.wide / 2, self.wide / 2, 257)
        after = np.roll(drawn, -1, axis=0)
        level = [_highest(drawn, after, x) for x in across.tolist()]
        return np.stack([across, level], axis=1)

    @cached_property
    def _angles(self) -> np.ndarray | None:
        """The angle round the finger at each point, always rising; None for what goes round none."""
        outs, (x, z) = self.line.outs, self.line.points[:, (0, 2)].T
        if np.abs(outs[:, 1]).max() > 1e-3 or (outs[:, 0] * x + outs[:, 2] * z).min() <= 0:
            return None
        turns = np.unwrap(np.arctan2(x, z))
        if self.line.closed:
            turns = np.append(turns, turns[0] + 2 * math.pi)
        return turns if turns[-1] - turns[0] > math.pi - HALF and np.diff(turns).min() > 0 else None

    @property
    def goes_round(self) -> bool:
        """Whether it goes round finger or wrist, looking away from it."""
        return self._angles is not None

    @cached_property
    def _stations(self) -> np.ndarray:
        return np.r_[0.0, np.cumsum(np.linalg.norm(self.line.chords(), axis=1))]

    def _station(self, around: float) -> float:
        """How far along the place at this angle lies, of several the nearest to its middle; half way where it
        goes round nothing, no number where it is open there."""
        angles = self._angles
        if angles is None:
            return float(self._stations[-1] / 2)
        turn = 2 * math.pi
        middle = turn * round(float(angles[0] + angles[-1]) / 2 / turn) + around
        if self.line.closed:
            return float(np.interp(angles[0] + (middle - angles[0]) % turn, angles, self._stations))
        passed = middle + turn * np.arange(-2.0, 3.0)
        passed = passed[(passed > angles[0] - SLIGHT) & (passed < angles[-1] + SLIGHT)]
        if not len(passed):
            return math.nan
        return float(np.interp(passed[np.abs(passed - middle).argmin()], angles, self._stations))

    def course(self, around: float, rise: float) -> np.ndarray:
        """The frame (1, 3, 4) on the line itself at an angle, so far out from it: x runs on, z looks away."""
        frames = self.line.frames_at(np.array([self._station(around)]))
        frames[:, :, 3] += rise * frames[:, :, 2]
        return frames

    def passes(self) -> np.ndarray:
        """The frames (n, 3, 4) on the line where it passes its head, in order; of an arc none or several."""
        angles, turn = self._angles, 2 * math.pi
        if angles is None or self.line.closed:
            return self.course(0.0, 0.0)
        times = np.arange(np.ceil(angles[0] / turn), np.floor(angles[-1] / turn) + 1)
        return self.line.frames_at(np.interp(times * turn, angles, self._stations))

    def head(self, rise: float) -> np.ndarray:
        """The frame (1, 3, 4) at its head, so far out from it; of what passes that more than once, as arms or
        coils do, between the first and the last of them, of what is open there between its ends, x to the
        right of the finger."""
        passes = self.passes()
        if len(passes) == 1:
            return self.course(0.0, rise)
        spots = (passes if len(passes) else self.line.points)[[0, -1]].reshape(2, 3, -1)[:, :, -1]
        return fr.shifted(0.0, float(spots[:, 1].mean()), float(np.hypot(*spots[:, (0, 2)].T).mean()) + rise)

    def opening(self, around: float) -> tuple[float, float] | None:
        """From which angle to which it goes, degrees, where it is open at this one; else None."""
        if self._angles is None or not math.isnan(self._station(around)):
            return None
        first, last = np.degrees(self._angles[[0, -1]]).tolist()
        return first, last

    def _scale(self, station: np.ndarray) -> np.ndarray:
        """Share of its section that the wire has there."""
        return scales(station / self._stations[-1], self.widths)

    def area(self) -> float:
        """Its length times its width."""
        return float(self._stations[-1]) * self.wide * max(self.widths)

    def span(self) -> Span:
        """From end to end of the wire, and as wide as it is."""
        half = np.array([float(self._stations[-1]), self.wide * max(self.widths)]) / 2
        return -half, half

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Right is along the wire, up across it."""
        return self._at(self._station(around) + spots[:, 0], spots[:, 1])

    def _at(self, station: np.ndarray, up: np.ndarray) -> np.ndarray:
        """Frames there, no number beside the wire."""
        whole = float(self._stations[-1])
        on = station % whole if self.line.closed else station
        scale = self._scale(on)
        across, level = self._upper.T
        small = 1e-3 * self.wide
        inside = np.clip(up / scale, small - self.wide / 2, self.wide / 2 - small)
        slope = np.interp(inside + small, across, level) - np.interp(inside - small, across, level)
        tilt = np.arctan2(slope, 2 * small)
        frames = self.line.frames_at(on)
        rise = np.interp(inside, across, level) * scale
        frames[:, :, 3] += up[:, None] * frames[:, :, 1] + rise[:, None] * frames[:, :, 2]
        cos, sin = np.cos(tilt)[:, None], np.sin(tilt)[:, None]
        y, z = frames[:, :, 1].copy(), frames[:, :, 2].copy()
        frames[:, :, 1], frames[:, :, 2] = cos * y + sin * z, cos * z - sin * y
        beside = np.abs(up) > self.wide / 2 * scale + 1e-6
        if not self.line.closed:
            beside |= (station < -1e-9) | (station > whole + 1e-9)
        frames[beside] = np.nan
        return frames

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Rows along the wire, staggered against one another; each goes where the wire is wide enough
        for it. Rows of a closed wire close evenly."""
        step, rise = pitches(every)
        whole, closed = float(self._stations[-1]), self.line.closed and part is None
        first, length = 0.0 if closed else margin, whole if closed else whole - 2 * margin
        if part is not None:
            middle = self._station(0.0) if self.opening(0.0) is None else 0.0
            first, length = middle + part[0] * whole, (part[1] - part[0]) * whole
        room = self.wide * max(self.widths) - 2 * margin
        if room < 0 or length < 0:
            return np.zeros((0, 3, 4))
        rows = int(room / rise + 1e-9) + 1
        count = max(1, int(length / step + 1e-9) + (0 if closed else 1))
        pitch = length / count if closed else step
        found = []
        for row in range(rows):
            odd = row % 2
            number = np.arange(count - (0 if closed else odd))
            start = 0.0 if closed else (length - (len(number) - 1) * pitch) / 2
            station = first + start + (number + (odd / 2 if closed else 0.0)) * pitch
            up = np.full(len(station), (row - (rows - 1) / 2) * rise)
            fits = np.abs(up) <= self.wide / 2 * self._scale(station % whole) - margin + 1e-9
            found.append(self._at(station[fits], up[fits]))
        made = np.concatenate(found)
        return made[np.isfinite(made).all(axis=(1, 2))]


@dataclass(frozen=True, eq=False)
class Strands:
    """Two strands beside each other: one stands over both, level with their outsides; what is spread
    lies on each of them, in no more than the ``part`` of the way where they stand apart."""

    over: Surface
    strands: tuple[WireFace, ...]
    part: tuple[float, float]
    goes_round = True

    def area(self) -> float:
        """Of both."""
        return sum(strand.area() for strand in self.strands)

    def span(self) -> Span:
        """As of one shank that reaches over both."""
        return self.over.span()

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """As on one shank that reaches over both."""
        return self.over.stood(spots, around)

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Rows along each strand."""
        first, last = part or self.part
        held = max(first, self.part[0]), min(last, self.part[1])
        return np.concatenate([strand.spread(every, margin, held) for strand in self.strands])


def _highest(start: np.ndarray, end: np.ndarray, x: float) -> float:
    """The highest point of an outline's sides at ``x``."""
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    near = np.flatnonzero((low <= x + 1e-9) & (high >= x - 1e-9))
    run = end[near, 0] - start[near, 0]
    upright = np.abs(run) < 1e-9
    share = np.where(upright, 0.0, (x - start[near, 0]) / np.where(upright, 1.0, run))
    there = start[near, 1] + np.clip(share, 0.0, 1.0) * (end[near, 1] - start[near, 1])
    return float(np.maximum(there, np.where(upright, end[near, 1], -np.inf)).max())


def scales(share: np.ndarray, widths: tuple[float, ...]) -> np.ndarray:
    """The size at shares (n,) of the length."""
    if len(widths) == 1:
        return np.full(len(share), widths[0])
    place = np.clip(share, 0.0, 1.0) * (len(widths) - 1)
    k = np.minimum(place.astype(int), len(widths) - 2)
    t = place - k
    if len(widths) > 2:
        t = t * t * (3.0 - 2.0 * t)
    known = np.array(widths)
    return np.asarray(known[k] + t * (known[k + 1] - known[k]))
