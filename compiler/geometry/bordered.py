"""A field whose rows follow the edge of a flat face, as a setter lays them in a heart or a pear: where the
face is its own mirror image, so are they."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import product

import numpy as np

from ..measures.kinds import Floats
from . import frames as fr
from .inside import inside_loops
from .line import ring
from .mirrors import Mirrors
from .outlines import trace_all
from .parallels import parallel
from .spacing import closed_row
from .surfaces import Flat

NEAREST = 0.985  # of the pitch: how near two stones of neighbouring rows may come
RISES = (1.0, 0.94, 0.88)  # of the pitch, row to row: a row keeps all its stones where the edge bends gently
MOST_ROWS = 200
FINE = 100  # spots of a row to a pitch
FULLER = 1.06  # times the stones: so many more make up for a field that fewer mirror lines repeat
ON = 1e-6  # mm, within which a spot lies on a mirror line


@lru_cache(maxsize=32)
def bordered(face: Flat, step: float, margin: float) -> np.ndarray:
    """Frames (n, 3, 4) in rows along the outer edge, the first ``margin`` mm inside it, each evenly
    spaced ``step`` or a little more; the next rows nest into them as far as they have room."""
    loops = [*trace_all(face.outline), *([] if face.hole is None else trace_all(face.hole))]
    mirrors = Mirrors(loops)
    kept = _Field(loops, mirrors, step, face.rim + margin).best()
    if fewer := mirrors.fewer():
        other = _Field(loops, fewer, step, face.rim + margin).best()
        kept = other if len(other) > FULLER * len(kept) else kept
    frames = fr.identity(len(kept))
    frames[:, :2, 3], frames[:, 2, 3] = kept, face.height
    return frames


class _Field:
    """The room that a face has for stones, ``step`` mm apart and ``margin`` off its edges, with all spots of
    it that may take one: those of one part that repeats, and those on its mirror lines."""

    def __init__(self, loops: list[Floats], mirrors: Mirrors, step: float, margin: float) -> None:
        self.loops, self.mirrors, self.step, self.margin = loops, mirrors, step, margin
        low, high = self.loops[0].min(axis=0), self.loops[0].max(axis=0)
        ways = [np.arange(a, b, step / 8) for a, b in zip(low, high, strict=True)]
        self.all = self.within(np.stack(np.meshgrid(*ways), axis=-1).reshape(-1, 2))
        far = np.arange(0.0, float(np.ptp(self.loops[0], axis=0).max()), step / 16)
        far = np.concatenate([-far[:0:-1], far])[:, None]
        self.lines = [self.within(self.mirrors.middle + far * way) for way in self.mirrors.axes]
        beside = self.mirrors.beside(self.all)
        self.spots = np.concatenate([self.all[(beside >= 0).all(axis=0)], *self.lines])
        self.spots = self.spots[self._alone(self.spots)]

    def within(self, spots: Floats) -> Floats:
        """Those of spots (n, 2) that lie far enough inside the edges."""
        return spots[inside_loops(self.loops, spots) > self.margin - 1e-3]

    def best(self) -> Floats:
        """Spots (n, 2) of the way that takes most stones, and of several leaves the least bare."""
        tries = [self.laid(rise, middle) for rise, middle in product(RISES, (True, False))]
        bare = [round(float(_off(self.all, kept).max(initial=0.0)), 3) for kept in tries]
        return tries[max(range(len(tries)), key=lambda k: (len(tries[k]), -bare[k]))]

    def laid(self, rise: float, middle: bool) -> Floats:
        """Spots (n, 2): the rows, if ``middle`` those on mirror lines, one in every hole that takes one."""
        kept = np.zeros((0, 2))
        for loop in self._rows(rise):
            tries = [self.added(kept, row) for row in self._along(loop)]
            kept = max(tries, key=len, default=kept)
        for line in self.lines if middle else ():
            kept = self._spread(line, kept)
        return self._filled(kept)

    def added(self, kept: Floats, spots: Floats) -> Floats:
        """Those kept and, in order, each spot that stands off them and its own images, with its images."""
        for spot in spots[self._alone(spots)]:
            if _off(spot[None], kept)[0] >= NEAREST * self.step:
                kept = np.concatenate([kept, _once(self.mirrors.images(spot[None])[:, 0])])
        return kept

    def _alone(self, spots: Floats) -> np.ndarray:
        """Which spots (n, 2) stand on their own images or a pitch off them, (n,)."""
        off = np.linalg.norm(self.mirrors.images(spots) - spots, axis=2)
        return np.asarray(((off < ON) | (off >= NEAREST * self.step)).all(axis=0))

    def _rows(self, rise: float) -> Iterator[Floats]:
        """The edge moved in, row by row, until nothing is left."""
        for row in range(MOST_ROWS):
            moved = parallel(self.loops[0], self.margin + row * rise * self.step)
            if len(moved) < 3 or np.ptp(moved, axis=0).min() < 1e-3:
                return
            yield moved

    def _along(self, loop: Floats) -> Iterator[Floats]:
        """Ways of laying one row, spots (n, 2) each: with a stone on either mirror line it meets, or not."""
        line = ring(loop, 0.0)
        long = line.length()
        count = max(16, int(long / self.step * FINE))
        fine = line.frames_at(np.arange(count) * (long / count))[:, :2, 3]
        mine = (self.mirrors.beside(fine) >= -ON).all(axis=0)
        if mine.all() or not mine.any():
            row = closed_row(line, lambda share, place: self.step, 0.0, None)
            for k in range(24):
                if row is None:
                    return
                start = k / 24 * long / len(row.distances)
                yield self.within(line.frames_at((row.distances + start) % long)[:, :2, 3])
            return
        first = int(np.flatnonzero(mine & ~np.roll(mine, 1))[0])
        run = np.roll(fine, -first, axis=0)[: int(np.argmin(np.append(np.roll(mine, -first), False)))]
        ends = [self._onto(spot) for spot in (run[0], run[-1])]
        run = np.concatenate([ends[0][0][None], run[1:-1], ends[1][0][None]])
        off = [np.abs((run - self.mirrors.middle) @ side) for _, side in ends]
        for first_on, last_on in product((True, False), repeat=2):
            yield self.within(_row(run, off, (first_on, last_on), self.step))

    def _onto(self, spot: Floats) -> tuple[Floats, Floats]:
        """The nearest spot on a mirror line, and the way square to that line."""
        sides = np.stack([-self.mirrors.axes[:, 1], self.mirrors.axes[:, 0]], axis=1)
        off = sides @ (spot - self.mirrors.middle)
        k = int(np.abs(off).argmin())
        return spot - off[k] * sides[k], sides[k]

    def _spread(self, line: Floats, kept: Floats) -> Floats:
        """Those kept, and stones evenly along each stretch of a mirror line that is free."""
        free = _off(line, kept) >= NEAREST * self.step
        cuts = np.flatnonzero(np.diff(free.astype(int))) + 1
        for part, empty in zip(np.split(line, cuts), np.split(free, cuts), strict=True):
            if len(part) and empty[0]:
                long = float(np.linalg.norm(part[-1] - part[0]))
                count = int(long / self.step + 1e-6) + 1
                share = (np.arange(count) / (count - 1) if count > 1 else np.array([0.5]))[:, None]
                kept = self.added(kept, part[0] + share * (part[-1] - part[0]))
        return kept

    def _filled(self, kept: Floats) -> Floats:
        """Those kept, and one more in every hole that still takes one, the tightest first."""
        apart = _off(self.spots, kept)
        while len(free := np.flatnonzero(apart >= self.step)):
            spot = self.spots[free[int(apart[free].argmin())]]
            more = _once(self.mirrors.images(spot[None])[:, 0])
            kept, apart = np.concatenate([kept, more]), np.minimum(apart, _off(self.spots, more))
        return kept


def _row(run: Floats, off: list[Floats], at: tuple[bool, bool], step: float) -> Floats:
    """Spots (n, 2) evenly along ``run`` (m, 2), a pitch or a little more from one another and from their
    images in the mirror lines at its ends, which lie ``off`` (m,); ``at`` an end, one on the line itself."""
    ends = [run[k][None] for k, there in ((0, at[0]), (-1, at[1])) if there]
    low, high = step, 2 * step
    best = _walked(run, off, at, step)
    for _ in range(12 if len(best) else 0):
        pitch = (low + high) / 2
        spots = _walked(run, off, at, pitch)
        low, high = (pitch, high) if len(spots) >= len(best) else (low, pitch)
        best = spots if low == pitch else best
    return np.concatenate([*ends, best])


def _walked(run: Floats, off: list[Floats], at: tuple[bool, bool], pitch: float) -> Floats:
    """The spots between the ends of a row that lie so far apart."""
    open_at = np.ones(len(run), dtype=bool)
    for end, away, there in zip((0, -1), off, at, strict=True):
        open_at &= away >= pitch / 2
        if there:
            open_at &= np.linalg.norm(run - run[end], axis=1) >= pitch
    free, found = np.flatnonzero(open_at), []
    while len(free):
        found.append(run[free[0]])
        far = np.linalg.norm(run[free] - run[free[0]], axis=1) >= pitch
        free = free[int(far.argmax()) :] if far.any() else free[:0]
    return np.reshape(found, (-1, 2))


def _off(spots: Floats, kept: Floats) -> Floats:
    """How far each of the spots (n, 2) lies from the nearest that is kept, (n,)."""
    return np.linalg.norm(spots[:, None] - kept[None], axis=2).min(axis=1, initial=np.inf)


def _once(spots: Floats) -> Floats:
    """Spots (n, 2), those that lie on one another once."""
    chosen = spots[:1]
    for spot in spots[1:]:
        if _off(spot[None], chosen)[0] > ON * 10:
            chosen = np.concatenate([chosen, spot[None]])
    return chosen
