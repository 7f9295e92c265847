"""Fields of stones on the outside of a shank whose rows follow its edges, as a setter lays them on a band
that tapers: the first along both, the next ones nest into them, holes are filled last; both sides alike, or
half a pitch apart where an even number of rows nests on an even band; right and left of the head alike.
Lengths in mm, angles in radians from the head."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.line import Line
from ..geometry.spacing import closed_row, open_row

if TYPE_CHECKING:
    from ..geometry.surfaces import Part
    from .shank_face import Round

NEAREST = 0.985  # of the pitch: how near two stones of neighbouring rows may come
NEST = 0.88  # of the pitch, from row to row at the least: each stone clears the two that it lies between
FINE = 8  # steps a pitch, in which room is looked for
ALIKE = 1e-6  # of a round: a stretch that reaches no farther to one side lies evenly about the head


class Field:
    """The stones of one ``face`` of a shank's outside, laid one after another."""

    def __init__(self, outside: Round, face: int, step: float, margin: float, part: Part) -> None:
        self._outside, self._face, self._step = outside, face, step
        self._angles, self._closed = outside.way(margin, part)
        self._room = np.array([outside.across(float(angle), face) / 2 - margin for angle in self._angles])
        self._even = self._closed or bool(abs(self._angles[0] + self._angles[-1]) < ALIKE)
        self._laid: list[tuple[float, float]] = []
        self._spots = np.zeros((0, 3))

    def filled(self) -> list[tuple[float, float]]:
        """Where the stones stand: angles, and how far from the middle of the face, (angle, off)."""
        most = float(self._room.max(initial=-1.0))
        if most < 0:
            return []
        count = int(2 * most / (NEST * self._step)) + 1
        rise = 2 * most / max(count - 1, 1)
        first = self._edge_row()
        between = ((first + np.r_[first[1:], first[:1] + 2 * np.pi]) / 2)[: None if self._closed else -1]
        # Two rows beside the middle that have no room abreast nest too: one half lies half a pitch on.
        even = float(np.ptp(self._room)) < ALIKE
        nested = even and count % 2 == 0 and rise < NEAREST * self._step
        for row in range((count + 1) // 2):
            angles = between if row % 2 else first
            if nested:
                self._lay_rows([(angles, 1.0), (first if row % 2 else between, -1.0)], row * rise, NEST)
            else:
                self._lay_rows([(angles, 0.0)], row * rise, 1.0)
                if 2 * row == count - 1:
                    for angle in angles[self._room_at(angles) >= 0].tolist():
                        self._lay([(angle, 0.0)])
        if not nested:
            self._fill_holes(most)
        return self._laid

    def _lay_rows(self, rows: list[tuple[np.ndarray, float]], inward: float, apart: float) -> None:
        """The rows so far inward from the edges that lie ``apart`` pitches or more from their likes beyond
        the middle, each at its angles: on one side (1 or -1), or on both together (0)."""
        for angles, side in rows:
            offs = self._room_at(angles) - inward
            for angle, off in zip(angles.tolist(), offs.tolist(), strict=True):
                if 2 * off >= apart * self._step:
                    self._lay([(angle, side * off)] if side else [(angle, off), (angle, -off)])

    def _room_at(self, angles: np.ndarray) -> np.ndarray:
        return np.interp(angles % (2 * np.pi) if self._closed else angles, self._angles, self._room)

    def _edge_row(self) -> np.ndarray:
        """The angles of the stones of the first row, evenly about the head: those of all rows, every other
        one half a pitch on, so that they nest on a dome too."""
        way = zip(self._angles.tolist(), np.maximum(self._room, 0.0).tolist(), strict=True)
        points = np.array([self._outside.at(angle, self._face, off) for angle, off in way])
        stations = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
        some = points[:-1] if self._closed else points
        line = Line(some, some, self._closed)
        laid = closed_row if self._closed else open_row
        made = laid(line, lambda share, place: self._step, 0.0, None)
        if made is None:
            return np.zeros(0)
        count = len(made.distances)
        marks = np.arange(count) * stations[-1] / count if self._closed else made.distances
        return np.interp(marks, stations, self._angles)

    def _fill_holes(self, most: float) -> None:
        """One more, with its likes, in every hole that still takes one, the tightest first."""
        first = 0.0 if self._even else self._angles[0]
        last = np.pi if self._closed else self._angles[-1]
        many = np.ptp(self._angles) * self._outside.crest(0.0) * FINE / self._step
        ways = np.linspace(first, last, 2 + int(many))
        offs = np.r_[0.0, np.arange(self._step / 2, most, self._step / FINE)]
        room = np.interp(ways, self._angles, self._room)
        spots = np.array([self._outside.spots(float(angle), self._face, offs) for angle in ways])
        likely = offs <= room[:, None] + ALIKE
        around = ways * self._outside.crest(0.0)
        if self._even:  # its like on the other side of the head has to clear it too
            likely &= ((around < ALIKE) | (around >= self._step / 2))[:, None]
        chosen = np.argwhere(likely)
        spots = spots[likely]
        apart = np.full(len(spots), np.inf)
        for spot in self._spots:
            apart = np.minimum(apart, np.linalg.norm(spots - spot, axis=1))
        while len(free := np.flatnonzero(apart >= self._step)):
            k = int(free[apart[free].argmin()])
            first = len(self._spots)
            self._lay(self._likes(float(ways[chosen[k, 0]]), float(offs[chosen[k, 1]])))
            if len(self._spots) == first:
                apart[k] = 0.0  # its likes have no room
            for spot in self._spots[first:]:
                apart = np.minimum(apart, np.linalg.norm(spots - spot, axis=1))

    def _likes(self, angle: float, off: float) -> list[tuple[float, float]]:
        """A stone with its mirror images across the middle and across the head."""
        sides = (angle, -angle) if self._even and ALIKE < angle < np.pi - ALIKE else (angle,)
        return [(side, way) for side in sides for way in ((off, -off) if off > ALIKE else (0.0,))]

    def _lay(self, likes: list[tuple[float, float]]) -> None:
        """Lay stones, all or none of them: each stands off all that are there."""
        spots = np.array([self._outside.at(angle, self._face, off) for angle, off in likes])
        apart = np.linalg.norm(spots[:, None] - np.concatenate([self._spots, spots])[None], axis=2)
        apart[np.arange(len(spots)), len(self._spots) + np.arange(len(spots))] = np.inf
        if apart.min() >= NEAREST * self._step:
            self._laid += likes
            self._spots = np.concatenate([self._spots, spots])
