"""Faces that things can be spread upon, staggered and even: flat, domed, round a band. mm."""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np

from ...lang.lean import dataclass
from . import frames as fr
from .outlines import Outline, inset, signed_area, trace

ROW_RISE = math.sqrt(
    0.75
)  # row to row of a staggered field whose neighbours are one pitch apart


class Surface(Protocol):
    """A face of a feature, in the feature's own frame."""

    def area(self) -> float:
        """Its area, mm2 (for caps)."""

    def spread(self, every: tuple[float, ...], margin: float) -> np.ndarray:
        """Frames (n, 3, 4) on it, z along the normal, neighbours ``every`` apart, none nearer
        than ``margin`` to its edge."""


def pitches(every: tuple[float, ...]) -> tuple[float, float]:
    """Pitch along a row and from row to row."""
    return every[0], every[1] if len(every) > 1 else every[0] * ROW_RISE


@dataclass(frozen=True)
class Flat:
    """A flat face of any outline at a height."""

    outline: Outline
    height: float

    def area(self) -> float:
        """Area of the outline."""
        return abs(signed_area(trace(self.outline)))

    def spread(self, every: tuple[float, ...], margin: float) -> np.ndarray:
        """Staggered rows, one through the middle, kept inside the outline."""
        kept = inset(self.outline, margin) if margin > 0 else self.outline
        loop = trace(kept)
        if len(loop) < 3 or not _fits(self.outline, margin):
            return np.zeros((0, 3, 4))
        step, rise = pitches(every)
        middle = (loop.min(axis=0) + loop.max(axis=0)) / 2
        reach = np.ptp(loop, axis=0) / 2
        spots = []
        for row in range(-int(reach[1] / rise) - 1, int(reach[1] / rise) + 2):
            shift = step / 2 if row % 2 else 0.0
            for column in range(-int(reach[0] / step) - 2, int(reach[0] / step) + 3):
                spots.append((column * step + shift, row * rise))
        inside = np.array(spots) + middle
        inside = inside[_within(loop, inside)]
        frames = fr.identity(len(inside))
        frames[:, :2, 3] = inside
        frames[:, 2, 3] = self.height
        return frames


def _fits(outline: Outline, margin: float) -> bool:
    return bool(np.ptp(trace(outline), axis=0).min() > 2 * margin)


def _within(loop: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """Which spots (n, 2) lie inside a loop (m, 2), its edge included."""
    a, b = loop, np.roll(loop, -1, axis=0)
    way = b - a
    inside = np.zeros(len(spots), dtype=bool)
    for index, (x, y) in enumerate(spots):
        crossing = (a[:, 1] > y) != (b[:, 1] > y)
        at = a[crossing, 0] + (y - a[crossing, 1]) / way[crossing, 1] * way[crossing, 0]
        rest = (x, y) - a
        share = np.clip(
            (rest * way).sum(axis=1) / np.maximum((way * way).sum(axis=1), 1e-300), 0, 1
        )
        near = np.linalg.norm(rest - share[:, None] * way, axis=1).min()
        inside[index] = (at > x).sum() % 2 == 1 or near < 1e-6
    return inside


@dataclass(frozen=True)
class Cap:
    """A cap of a ball on its ground: ``across`` at the rim, ``high`` in the middle."""

    across: float
    high: float

    def radius(self) -> float:
        """Radius of the ball."""
        return (self.across**2 / 4 + self.high**2) / (2 * self.high)

    def area(self) -> float:
        """Area of the cap (Archimedes: as of a belt of the cylinder round the ball)."""
        return 2 * math.pi * self.radius() * self.high

    def spread(self, every: tuple[float, ...], margin: float) -> np.ndarray:
        """One at the top, then rings, each closed evenly and no closer than the pitch."""
        radius = self.radius()
        half = math.acos(max(-1.0, 1 - self.high / radius)) - margin / radius
        step = every[0]
        if half < 0:
            return np.zeros((0, 3, 4))
        rings = int(half / (2 * math.asin(min(1.0, step / (2 * radius)))) + 1e-9)
        found = [self._at(0.0, np.zeros(1))]
        turn = 0.0
        for ring in range(1, rings + 1):
            tilt = ring * 2 * math.asin(step / (2 * radius))
            level = radius * math.sin(tilt)
            count = max(3, int(math.pi / math.asin(min(1.0, step / (2 * level))) + 1e-9))
            turn += 180.0 / count
            found.append(self._at(tilt, turn + np.arange(count) * 360.0 / count))
        return np.concatenate(found)

    def _at(self, tilt: float, turns: np.ndarray) -> np.ndarray:
        """Frames at ``tilt`` radians from the top, turned by degrees about the middle."""
        lean = fr.compose(fr.turned(1, math.degrees(tilt)), fr.shifted(out=self.radius()))
        around = np.concatenate([fr.turned(2, float(turn)) for turn in turns])
        return fr.compose(fr.shifted(out=self.high - self.radius()), fr.compose(around, lean))


@dataclass(frozen=True)
class Round:
    """The outside of a band lying in x-z, its head at +z: ``radius`` mm, ``wide`` along y."""

    radius: float
    wide: float

    def area(self) -> float:
        """Area of the outside."""
        return 2 * math.pi * self.radius * self.wide

    def spread(self, every: tuple[float, ...], margin: float) -> np.ndarray:
        """Rows round the band, each closed evenly and staggered against the next."""
        step, rise = pitches(every)
        room = self.wide - 2 * margin
        if room < 0 or step >= 2 * self.radius:
            return np.zeros((0, 3, 4))
        rows = int(room / rise + 1e-9) + 1
        count = int(math.pi / math.asin(step / (2 * self.radius)) + 1e-9)
        found = []
        for row in range(rows):
            up = (row - (rows - 1) / 2) * rise
            for k in range(count):
                turn = (k + 0.5 * (row % 2)) * 360.0 / count
                found.append(fr.compose(fr.turned(1, turn), fr.shifted(up=up, out=self.radius)))
        return np.concatenate(found) if found else np.zeros((0, 3, 4))
