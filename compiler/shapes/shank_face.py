"""The outside of a shank as a face to spread things upon: it tapers, bulges and ends as the metal
does. Lengths in mm, angles in radians from the head."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from ..geometry import frames as fr
from ..geometry.surfaces import Part, Span, pitches
from ..measures.kinds import unit
from .sections import outside
from .shank import Shank
from .shank_rows import Field

SMALL = 1e-4  # radians or mm, between places that tell which way a face runs

def _even(count: int, closed: bool, shift: bool) -> np.ndarray:
    """Places of ``count`` copies in steps from the middle of a stretch, or from the start of a
    closed round; every other row stands half a step on."""
    if closed:
        return np.arange(count) + (0.5 if shift else 0.0)
    count -= 1 if shift else 0
    return np.arange(count) - (count - 1) / 2


@dataclass(frozen=True)
class Round:
    """The outside of a shank lying in x-z, its head at +z: it tapers, bulges and ends as the metal does."""

    shank: Shank
    goes_round = True

    def area(self) -> float:
        """Area of the outside, nearly."""
        made = self.shank
        return 2 * math.pi * (made.inside / 2 + made.thick) * max(made.wide, made.back_wide)

    def crest(self, angle: float) -> float:
        """Radius of the middle of the outside, so many radians from the head."""
        return self.shank.inside / 2 + self.shank.at(angle)[1]

    def _course(self, angle: float) -> float:
        """Length of the middle of the outside for a radian more, mm."""
        return self.crest(angle) * self.shank.slant(angle)

    def edge(self, angle: float) -> tuple[float, float]:
        """Radius of the edge of the outside, and how far it lies from the middle."""
        path = self._faces(angle)[-1]
        return float(path[-1, 0]), float(path[-1, 1])

    def _faces(self, angle: float) -> list[np.ndarray]:
        """The faces of the section at an angle: (radius, along the finger), edge to edge."""
        made = self.shank
        faces = outside(made.profile_at(angle), made.inside / 2, *made.at(angle))
        return [path * (1.0, made.slant(angle)) for path in faces] if made.rise else faces

    def lies(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """How far below the outside, toward the finger, and how far inside the edges of the band points
        (n, 3) lie, mm (n,); less than none above it and beside it."""
        angle, made = np.arctan2(points[:, 0], points[:, 2]), self.shank
        up = points[:, 1] - [made.lift(float(one)) for one in angle]
        half = np.array([made.at(float(one))[0] / 2 for one in angle])
        slant = np.array([made.slant(float(one)) for one in angle])
        deep = self.outside(angle, up) - np.hypot(points[:, 0], points[:, 2])
        return deep, half - np.abs(up) / slant

    def outside(self, angle: np.ndarray, up: np.ndarray) -> np.ndarray:
        """Radius of the outside at angles (n,), ``up`` mm along the finger, to a micron or two."""
        angles, ups, radii = self._table
        row = np.interp(np.abs(angle), angles, np.arange(len(angles)))
        low = np.minimum(row.astype(int), len(angles) - 2)
        share = row - low
        found = [
            np.array([np.interp(y, ups[r], radii[r]) for r, y in zip(rows, up, strict=True)])
            for rows in (low, low + 1)
        ]
        return np.asarray((1 - share) * found[0] + share * found[1])

    @cached_property
    def _table(self) -> tuple[np.ndarray, list[np.ndarray], list[np.ndarray]]:
        """Sections from head to back: at each angle how far along the finger, and the radius."""
        fine = math.ceil(45 * math.pi / 2 / self.shank.bow) + 1
        angles = np.linspace(0.0, math.pi, fine if self._tapers else 2)
        paths = [np.concatenate(self._faces(float(angle))) for angle in angles]
        return angles, [path[:, 1] for path in paths], [path[:, 0] for path in paths]

    def spots(self, angle: float, face: int, offs: np.ndarray) -> np.ndarray:
        """The points (n, 3) that lie ``offs`` (n,) mm along the section from the middle of a face."""
        path = self._faces(angle)[face]
        stations = _lengths(path)
        radius, up = (np.interp(stations[-1] / 2 + offs, stations, path[:, k]) for k in (0, 1))
        up += self.shank.lift(angle)
        return np.stack([radius * math.sin(angle), up, radius * math.cos(angle)], axis=1)

    def at(self, angle: float, face: int, off: float) -> np.ndarray:
        """The point ``off`` mm along the section from the middle of a face, (3,)."""
        return np.asarray(self.spots(angle, face, np.array([off]))[0])

    def across(self, angle: float, face: int) -> float:
        """Length of a face of the section there, from edge to edge, mm."""
        return float(_lengths(self._faces(angle)[face])[-1])

    def middle(self, angle: float) -> np.ndarray:
        """The frame (1, 3, 4) on the middle of the outside, on a ridge too: x runs on round the finger, z
        looks away from it, not along one of the slopes that meet there."""

        def spot(turn: float) -> np.ndarray:
            radius = self.crest(turn)
            return np.array([radius * math.sin(turn), self.shank.lift(turn), radius * math.cos(turn)])

        round_ = spot(angle + SMALL) - spot(angle - SMALL)
        out = np.cross(round_, (0.0, 1.0, 0.0))
        return fr.from_axes(spot(angle)[None], round_[None], out[None])

    def frame(self, angle: float, face: int, off: float) -> np.ndarray:
        """The frame there, x round the finger, z as the metal looks, (1, 3, 4)."""
        round_ = self.at(angle + SMALL, face, off) - self.at(angle - SMALL, face, off)
        across = self.at(angle, face, off + SMALL) - self.at(angle, face, off - SMALL)
        out = np.cross(round_, across)
        return fr.from_axes(self.at(angle, face, off)[None], round_[None], out[None])

    def span(self) -> Span:
        """Half way round to either side of the head, and as wide as it is anywhere."""
        reach = math.pi if self.shank.open < 0 else self.shank.reach()
        if self._tapers:
            turns, whole = _stations(self.shank, 0.0)
            far = float(np.interp(reach, turns, whole) - whole[1440])
        else:
            far = reach * self.crest(0.0)
        half = np.array([far, max(self.edge(0.0)[1], self.edge(math.pi)[1])])
        return -half, half

    def stood(self, spots: np.ndarray, around: float = 0.0) -> np.ndarray:
        """Right is along the middle of the outside, up along the finger."""
        angle = self._angles(spots[:, 0], around)
        frames = fr.from_axes(*self._looking(angle, spots[:, 1]))
        off = np.array([self.shank.beyond(float(one)) for one in angle])
        frames[(np.abs(spots[:, 1]) > self._edges(angle) + 1e-6) | (off > 1e-9)] = np.nan
        return frames

    def halves(self, along: np.ndarray) -> np.ndarray:
        """How far its edges lie from its middle, (n,), ``along`` mm (n,) round from the head."""
        return self._edges(self._angles(along, 0.0))

    def _edges(self, angle: np.ndarray) -> np.ndarray:
        return np.array([self.edge(float(one))[1] for one in angle])

    def _looking(self, angle: np.ndarray, up: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Spots of the outside at angles (n,) and so far along the finger, the way round there and the
        way the metal looks, each (n, 3)."""
        small = 1e-3

        def point(turn: float, rise: float) -> np.ndarray:
            at = angle + turn
            radius = self.outside(at, up + rise)
            lift = [self.shank.lift(float(one)) for one in at]
            return np.stack([radius * np.sin(at), up + rise + lift, radius * np.cos(at)], axis=1)

        round_ = point(small, 0.0) - point(-small, 0.0)
        return point(0.0, 0.0), round_, np.cross(round_, point(0.0, small) - point(0.0, -small))

    def laid(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
        """Points (n, 3) moved straight to or from the finger onto the outside, and the unit way it looks
        there; None where one lies beside the band."""
        if (self.lies(points)[1] < -1e-6).any():
            return None
        angle = np.arctan2(points[:, 0], points[:, 2])
        spots, _, outs = self._looking(angle, points[:, 1] - [self.shank.lift(float(one)) for one in angle])
        return spots, unit(outs)

    def _angles(self, along: np.ndarray, around: float) -> np.ndarray:
        """Radians from the head, ``along`` mm (n,) on from ``around``, as the middle of the outside runs."""
        if not self._tapers:
            return np.asarray(around + along / self.crest(0.0))
        turns, whole = _stations(self.shank, around)
        return np.interp(along + whole[1440], whole, turns)

    def spread(self, every: tuple[float, ...], margin: float, part: Part = None) -> np.ndarray:
        """Rows round the finger, staggered against one another; each goes as far as the metal
        is wide enough for it. Rows of a whole ring close evenly."""
        found = [
            frame
            for face in range(len(self._faces(0.0)))
            for frame in self._rows(face, every, margin, part)
        ]
        return np.concatenate(found) if found else np.zeros((0, 3, 4))

    def bordered(self, step: float, margin: float, part: Part = None) -> np.ndarray:
        """Rows ``step`` apart that follow both edges, the first ``margin`` inside them."""
        frames = [
            self.frame(angle, face, off)
            for face in range(len(self._faces(0.0)))
            for angle, off in Field(self, face, step, margin, part).filled()
        ]
        return np.concatenate(frames) if frames else np.zeros((0, 3, 4))

    def _rows(self, face: int, every: tuple[float, ...], margin: float, part: Part) -> list[np.ndarray]:
        step, rise = pitches(every)
        angles, closed = self.way(margin, part)
        room = np.array([self.across(a, face) - 2 * margin for a in angles])
        if room.max() < 0:
            return []
        rise *= self._bulge(face, angles, room, rise)
        rows = int(room.max() / rise + 1e-9) + 1
        if rows % 2 == 0 and rows > 2 and room.min() < room.max() - rise:
            rows -= 1  # on a face that narrows, both edges must end alike: a row lies in its middle
        offs = (np.arange(rows) - (rows - 1) / 2) * rise
        apart = self._steps(face, angles, offs, room)
        whole = np.r_[0.0, np.cumsum(apart)]
        count = self._count(whole[-1], step, closed)
        pitch = whole[-1] / count if closed else 2 * math.asin(min(1.0, step / 2 / self._mean))
        pitch *= 1.0 if closed else self._mean
        found = []
        for row, off in enumerate(offs):
            places = _even(count, closed, row % 2 == 1) * pitch
            for place in places + (0.0 if closed else whole[-1] / 2):
                angle = float(np.interp(place % whole[-1] if closed else place, whole, angles))
                if abs(off) <= float(np.interp(angle, angles, room)) / 2 + 1e-9:
                    found.append(self.frame(angle, face, float(off)))
        return found

    def _bulge(self, face: int, angles: np.ndarray, room: np.ndarray, rise: float) -> float:
        """How much longer than the pitch the way across must be where the face bends most."""
        worst = 1.0
        for angle, free in zip(angles[:: len(angles) // 8], room[:: len(angles) // 8], strict=True):
            path = self._faces(float(angle))[face]
            stations = _lengths(path)
            along = stations[-1] / 2 + np.arange(-free / 2, free / 2 - rise + 1e-9, rise / 4)
            low, high = (
                np.stack([np.interp(at, stations, path[:, k]) for k in (0, 1)])
                for at in (along, along + rise)
            )
            if len(along):
                worst = max(worst, float(rise / np.linalg.norm(high - low, axis=0).min()))
        return worst

    @property
    def _mean(self) -> float:
        return self.shank.inside / 2 + (self.shank.thick + self.shank.back_thick) / 2

    def _count(self, length: float, step: float, closed: bool) -> int:
        """How many stand in a row of this length, chords of ``step`` mm or more apart."""
        radius = length / (2 * math.pi) if closed else self._mean
        if step >= 2 * radius:
            return 1
        turn = 2 * math.asin(step / (2 * radius))
        return int(length / radius / turn + 1e-9) + (0 if closed else 1)

    def way(self, margin: float, part: Part) -> tuple[np.ndarray, bool]:
        """Angles from end to end of the way, fine; whether it closes."""
        made = self.shank
        if part is None and not made.open:
            return np.linspace(0.0, 2 * math.pi, 721), True
        reach, home = made.reach(), made.home
        if made.open:
            reach -= margin / self.crest(home + reach)
        if part is None:
            return np.linspace(home - reach, home + reach, 721), False
        around = np.linspace(-2 * math.pi, 4 * math.pi, 6001)
        radius = np.array([self._course(a) for a in around])
        length = np.r_[0.0, np.cumsum((radius[1:] + radius[:-1]) / 2 * np.diff(around))]
        once = length[-1] / 3
        first, last = np.interp([once * (1 + part[0]), once * (1 + part[1])], length, around)
        if made.open:
            home += 2 * math.pi * round(((first + last) / 2 - home) / (2 * math.pi))
            first, last = max(first, home - reach), min(last, home + reach)
        return np.linspace(first, last, 721), False

    def _steps(self, face: int, angles: np.ndarray, offs: np.ndarray, room: np.ndarray) -> np.ndarray:
        """Length of the way between neighbouring angles, in the row where it is least, mm."""
        steps = []
        some = slice(None, None, 1 if self._tapers else len(angles) - 1)
        for angle, free in zip(angles[some], room[some], strict=True):
            path = self._faces(float(angle))[face]
            stations = _lengths(path)
            held = offs[np.abs(offs) <= free / 2 + 1e-9]
            along = stations[-1] / 2 + (held if len(held) else np.zeros(1))
            steps.append(np.interp(along, stations, path[:, 0]).min() * self.shank.slant(float(angle)))
        radius = np.array(steps)
        if not self._tapers:
            radius = np.full(len(angles), radius[0])
        return (radius[1:] + radius[:-1]) / 2 * np.diff(angles)

    @property
    def _tapers(self) -> bool:
        made = self.shank
        changes = (made.wide, made.thick) != (made.back_wide, made.back_thick)
        return changes or bool(made.toward or made.rise)


@lru_cache(maxsize=16)
def _stations(shank: Shank, around: float) -> tuple[np.ndarray, np.ndarray]:
    """Angles two turns to either side of ``around``, and where they lie along the outside, mm."""
    turns = around + np.linspace(-2 * math.pi, 2 * math.pi, 2881)
    radius = np.array([Round(shank)._course(turn) for turn in turns.tolist()])
    return turns, np.r_[0.0, np.cumsum((radius[1:] + radius[:-1]) / 2 * np.diff(turns))]


def _lengths(path: np.ndarray) -> np.ndarray:
    """Length along a path at each of its points."""
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]
