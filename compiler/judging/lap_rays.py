"""Metal over the girdles of many set stones, along lines straight out from their axes."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np

from ..measures.arcs import circular_runs, longest_gap
from ..measures.kinds import Flags, Floats, Ints
from ..measures.polar import Crossings, outward
from .forms import COUNT, LEVELS, STEP, UNDER, Lap
from .stone_rays import BITE, ROOM, StoneRays

CORNER = 20.0  # degrees that a girdle turns at once
SMALL = 0.12  # a lap of less is looked at again
FINER = 64
PUSH = 0.3  # metal standing no farther off than this can be pushed over the girdle
BESIDE = 5.0  # degrees to either side of a lap in which its metal may stand higher


class LapRays(StoneRays):
    """The metal near some stones, that over their girdles too."""

    def laps(self) -> tuple[list[tuple[Lap, ...]], Flags]:
        """Metal over the edge of the crown of each stone; the directions with some, (n, COUNT)."""
        start = len(UNDER) + 1
        both = [_laps(self.level(k), self.rim.reshape(-1)) for k in range(start, LEVELS)]
        both = [(np.where(self.adorns[self.face[into]], 0.0, far), into) for far, into in both]
        over = np.stack([far.reshape(-1, COUNT) for far, _ in both], axis=1)
        who = np.stack([self.who(into).reshape(-1, COUNT) for _, into in both], axis=1)
        covered = np.asarray((over >= BITE).any(axis=1))
        found: list[list[Lap]] = [[] for _ in self.stones]
        for k, first, size in zip(*(a.tolist() for a in circular_runs(covered)), strict=True):
            part = np.arange(first, first + size) % COUNT
            some, names = over[k][:, part], who[k][:, part]
            owner = _most(names[some >= BITE])
            level, way = np.unravel_index(int(np.argmax(some)), some.shape)
            rim = float(self.rim[k, part[int(way)]])
            place = self.at(k, start + int(level), part[int(way)], rim)
            begin, end = (first - 0.5) * STEP, (first + size - 0.5) * STEP
            if size == COUNT:
                begin, end = 0.0, 360.0
            most = self._lap(k, int(part[int(way)]), part, some)
            found[k].append(Lap(begin, end, most, self._top(k, owner, begin, end), place, owner))
        return [tuple(laps) for laps in found], covered

    def _lap(self, stone: int, way: int, part: Ints, over: Floats) -> float:
        """How far metal laps over an arc of the girdle: square to it; over a corner along the
        widest line to it."""
        turns = np.diff(self.looks[stone, np.r_[part[0] - 1, part, (part[-1] + 1) % COUNT]])
        if not (np.abs((turns + 180.0) % 360.0 - 180.0) > CORNER).any():
            return float((over * self.square[stone, part]).max())
        most = float(over.max())
        return most if most > SMALL else max(most, self._closer(stone, way))

    def _closer(self, stone: int, way: int) -> float:
        """A lap looked at again on lines that stand `FINER` times as close: on a corner of a stone
        it is widest on a line that may run between two of those that are sent all round."""
        count = COUNT * FINER
        own = self._own(np.arange(*np.searchsorted(self.row, [stone, stone + 1])))
        turn = np.degrees(np.arctan2(own[:, :, 1], own[:, :, 0])) - way * STEP
        near = np.abs((turn + 180.0) % 360.0 - 180.0).min(axis=1) < 10 * STEP
        heights = self.heights[stone, len(UNDER) + 1 :]
        met = outward(own[near], heights, count)
        lines = np.arange((way - 1) * FINER, (way + 1) * FINER + 1)
        limit = np.zeros(count)
        limit[lines % count] = self.stones[stone].radius(lines * STEP / FINER)
        return float(_laps(met, np.tile(limit, len(heights)))[0].max())

    def _top(self, stone: int, owner: int, begin: float, end: float) -> float:
        """How high a feature reaches within an arc, above the middle of the girdle."""
        first = int(np.floor((begin - BESIDE) / STEP + 1e-9))
        last = int(np.ceil((end + BESIDE) / STEP - 1e-9))
        ways = np.arange(first, min(last, first + COUNT)) % COUNT
        names, table = self._tops
        whose = self._whose(owner, stone)
        row = int(np.searchsorted(names, whose))
        top = float(table[row, ways].max()) if row < len(names) and names[row] == whose else -np.inf
        return top - float(self.low[stone] + self.high[stone]) / 2 if top > -np.inf else 0.0

    @cached_property
    def _tops(self) -> tuple[Ints, Floats]:
        """The greatest height near a stone of each feature that stands above its girdle, by direction
        (k, COUNT), -inf for none; and whose each row is, in rising order (k,): see `_whose`."""
        tall = np.flatnonzero(self._reach > self.high[self.row])
        row, spots = np.repeat(self.row[tall], 3), self._own(tall).reshape(-1, 3)
        keep = spots[:, 2] > self.high[row]
        keep &= np.hypot(spots[:, 0], spots[:, 1]) < self.rim.max(axis=1)[row] + ROOM
        whose = self._whose(np.repeat(self.owner[self.near[tall]], 3)[keep], row[keep])
        spots = spots[keep]
        turn = np.degrees(np.arctan2(spots[:, 1], spots[:, 0])) % 360.0
        way = (turn / STEP).astype(np.int64) % COUNT
        names, place = np.unique(whose, return_inverse=True)
        table = np.full(len(names) * COUNT, -np.inf)
        np.maximum.at(table, place * COUNT + way, spots[:, 2])
        return names, table.reshape(-1, COUNT)

    def _whose(self, owner: Any, stone: Any) -> Any:
        """One number for a feature at a stone."""
        return owner * np.int64(len(self.stones)) + stone

    def push_free(self) -> Floats:
        """Widest arcs without metal above the girdle that could be pushed over it, degrees."""
        met, limit = self.level(len(UNDER) + 1), self.rim.reshape(-1)
        near = met.within_metal(limit + PUSH) | met.within_metal(limit - 1e-3)
        return np.asarray(STEP * longest_gap(self.rows(near)))


def _most(names: Ints) -> int:
    """The commonest of some numbers, the lowest of several."""
    if (names == names[0]).all():
        return int(names[0])
    kinds, votes = np.unique(names, return_counts=True)
    return int(kinds[np.argmax(votes)])


def _laps(met: Crossings, limit: Floats) -> tuple[Floats, Ints]:
    """How far the metal that is at each limit reaches inward of it, and the face where."""
    before = met.last_before(limit - 1e-3)
    inside = met.within_metal(limit - 1e-3)
    face = np.append(met.face, -1)[before]
    start = np.append(met.far, 0.0)[before]
    return np.where(inside, limit - start, 0.0), np.where(inside, face, -1)
