"""Lines in space: rims, paths, girdles. Fine polylines that know which way is out. Lengths in mm."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np

from ..measures.kinds import cross, unit
from . import frames as fr
from .inside import gaps
from .once import once
from .parallels import next_of, parallel, prior_of, signed_turns

# A turn sharper than this between neighbouring chords is a corner (fine tracing keeps arcs
# under 3 degrees a chord).
CORNER_DEGREES = 20.0
ROUNDED_DEGREES = 90.5
CLEAR = 0.99  # of the distance it is moved by, what is nearer to the line has run back past a corner
NEAR = 1e-6  # of a chord, what lies no farther from its end lies there


class Face(Protocol):
    """A face that a line lies on, as a domed band has it."""

    def laid(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
        """Points (n, 3) near it put on it, and the way it looks there; None where one lies beside it."""


@dataclass(frozen=True, eq=False)
class Line:
    """``points`` (n, 3) and ``outs`` (n, 3, unit, away from the metal); closed lines do not repeat their
    first point. Seen from outside a closed rim runs counter-clockwise, so that its inner side is to the left.
    Moved to its side, a line stays on its ``face``, which stands in a frame (3, 4)."""

    points: np.ndarray
    outs: np.ndarray
    closed: bool
    face: tuple[Face, np.ndarray] | None = None

    def chords(self) -> np.ndarray:
        """Vectors from each point to the next, (n, 3) closed or (n - 1, 3) open."""
        if self.closed:
            return next_of(self.points) - self.points
        return np.diff(self.points, axis=0)

    def length(self) -> float:
        """Length in mm."""
        return float(np.linalg.norm(self.chords(), axis=1).sum())

    def spans(self) -> np.ndarray:
        """The length that each point stands for: half of either chord beside it, (n,)."""
        lengths = np.linalg.norm(self.chords(), axis=1)
        if self.closed:
            return (lengths + prior_of(lengths)) / 2
        return (np.r_[0.0, lengths] + np.r_[lengths, 0.0]) / 2

    def moved(self, frame: np.ndarray) -> Line:
        """The line in a (3, 4) frame; a mirrored frame turns a closed one round again."""
        points = fr.apply(frame, self.points)
        outs = self.outs @ frame[:, :3].T
        if self.closed and fr.mirrored(frame):
            points, outs = points[::-1], outs[::-1]
        face = None if self.face is None else (self.face[0], fr.compose(frame[None], self.face[1][None])[0])
        return Line(points, outs, self.closed, face)

    def part(self, first: float, last: float) -> Line:
        """The open stretch between two shares of the length; on a closed line they may pass its start."""
        total = self.length()
        points, outs = self.points, self.outs
        if self.closed:  # three times round, so that any stretch from -1 to 2 lies inside
            points = np.concatenate([np.tile(points, (3, 1)), points[:1]])
            outs = np.concatenate([np.tile(outs, (3, 1)), outs[:1]])
            first, last = first + 1.0, last + 1.0
        whole = Line(points, outs, False)
        stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(whole.chords(), axis=1))])
        ends = whole.frames_at(np.array([first * total, last * total]))
        near = 1e-6 * max(total, 1.0)
        inside = (stations > first * total + near) & (stations < last * total - near)
        return Line(
            np.concatenate([ends[:1, :, 3], points[inside], ends[1:, :, 3]]),
            np.concatenate([ends[:1, :, 2], outs[inside], ends[1:, :, 2]]), False,
        )

    def fine(self, step: float) -> Line:
        """The same line with points at most ``step`` mm apart."""
        chords = self.chords()
        counts = np.maximum(1, np.ceil(np.linalg.norm(chords, axis=1) / step)).astype(int)
        index = np.repeat(np.arange(len(chords)), counts)
        first = np.repeat(np.cumsum(counts) - counts, counts)
        share = (np.arange(len(index)) - first) / counts[index]
        points, outs = self.points[index] + share[:, None] * chords[index], self.outs[index]
        if not self.closed:
            points = np.concatenate([points, self.points[-1:]])
            outs = np.concatenate([outs, self.outs[-1:]])
        return Line(points, outs, self.closed)

    def share_at(self, spot: np.ndarray) -> float:
        """The share of the length from the start at which the line comes nearest to a spot (3,)."""
        fine = self.fine(0.02)
        near = int(np.linalg.norm(fine.points - spot, axis=1).argmin())
        return float(np.linalg.norm(fine.chords()[:near], axis=1).sum() / fine.length())

    def corners(self, degrees: float = CORNER_DEGREES) -> np.ndarray:
        """Indices of the points where the line turns by more than ``degrees``."""
        before, after = self.unit_chords()
        return np.flatnonzero((before * after).sum(axis=1) < np.cos(np.radians(degrees)))

    def ways(self) -> np.ndarray:
        """The unit way on at each point, half way between its two chords, (n, 3)."""
        before, after = self.unit_chords()
        both = before + after
        size = np.linalg.norm(both, axis=1, keepdims=True)
        return np.where(size > 1e-6, both / np.maximum(size, 1e-6), after)

    def unit_chords(self) -> tuple[np.ndarray, np.ndarray]:
        """The unit chords before and after each point."""
        ahead = unit(self.chords())
        if self.closed:
            return prior_of(ahead), ahead
        return np.concatenate([ahead[:1], ahead]), np.concatenate([ahead, ahead[-1:]])

    def mitred(self, across: np.ndarray) -> np.ndarray:
        """Ways ``across`` (n, 3) drawn out so that moving by them keeps both neighbouring chords parallel."""
        before, after = self.unit_chords()
        turn = after - before
        size = np.linalg.norm(turn, axis=1, keepdims=True)
        toward = turn / np.maximum(size, 1e-12)
        cosine = np.sqrt(np.maximum(1.0 - size**2 / 4, 1e-3 / 4))  # of half the turn
        own = (across * toward).sum(axis=1, keepdims=True)
        return np.asarray(across + (1.0 / cosine - 1.0) * own * toward)

    def lefts(self) -> np.ndarray:
        """The unit way to the inner (left) side at each point, (n, 3)."""
        return unit(cross(self.outs, self.ways()))

    def sides(self) -> np.ndarray:
        """At each point the way to the inner (left) side, mitred, (n, 3)."""
        return self.mitred(self.lefts())

    def inset(self, by: float) -> Line | None:
        """The line moved to its inner side by ``by`` mm; None when nothing is left of it."""
        if by == 0.0:
            return self
        if self.closed and self.face is None:
            return _inset(self, by)
        return self._moved_in(by)

    def _moved_in(self, by: float) -> Line | None:
        flat = self.flat_frame()
        if self.closed and flat is not None and self.face is None:
            return self._inset_flat(by, flat)
        moved = replace(self, points=self.points + by * self.sides())
        if not self.closed and self.corners().size:  # beside a sharp one it would run back past itself
            chords = self.chords()
            clear = gaps(moved.points, self.points[: len(chords)], chords).min(axis=1) > abs(by) * CLEAR
            moved = replace(moved, points=moved.points[clear], outs=moved.outs[clear])
        return moved.on_its_face() if len(moved.points) > 1 else None

    def moved_sharp(self, by: float) -> Line | None:
        """As ``inset``, the corners of a flat closed line mitred, as wire along it has them."""
        flat = self.flat_frame() if self.closed and self.face is None else None
        return self.inset(by) if flat is None or not by else self._inset_flat(by, flat, True)

    def content(self) -> tuple[Any, ...]:
        """What tells it from others, as ``once`` wants it; of a line on no face."""
        assert self.face is None
        return self.points.tobytes(), self.outs.tobytes(), self.closed

    def on_its_face(self) -> Line | None:
        """The line put on the face it belongs to, if any; None where it lies beside that."""
        if self.face is None:
            return self
        face, frame = self.face
        laid = face.laid(fr.apply(fr.inverse(frame), self.points))
        if laid is None:
            return None
        return Line(fr.apply(frame, laid[0]), laid[1] @ frame[:, :3].T, self.closed, self.face)

    def flat_frame(self) -> np.ndarray | None:
        """A (3, 4) frame whose x-y plane holds the line, its z being out; None if it is not flat."""
        out = self.outs[0]
        if np.abs(self.outs - out).max() > 1e-9:
            return None
        if np.abs((self.points - self.points[0]) @ out).max() > 1e-7:
            return None
        along = self.points[1] - self.points[0]
        return fr.from_axes(self.points[:1], along[None], out[None])[0]

    def _inset_flat(self, by: float, frame: np.ndarray, mitred: bool = False) -> Line | None:
        local = fr.apply(fr.inverse(frame), self.points)[:, :2]
        # A tip sharper than a right angle is rounded when moved out (so is a cleft, moved in):
        # a mitre would run far ahead.
        sharpest = np.degrees(np.abs(signed_turns(local)).max())
        loop = parallel(local, by, rounded=bool(sharpest > ROUNDED_DEGREES) and not mitred)
        if not len(loop):
            return None
        points = np.concatenate([loop, np.zeros((len(loop), 1))], axis=1)
        return Line(fr.apply(frame, points), np.tile(self.outs[0], (len(loop), 1)), True)

    def frames_at(self, distances: np.ndarray, run: tuple[int, int] | None = None) -> np.ndarray:
        """Frames (k, 3, 4) at ``distances`` mm from the start: z out, x along the line, square to that (a
        chord of a round line leans out by half its turn, and stones laid along it would too).

        ``run`` limits to points first..last (last may pass the end of a closed line)."""
        points, outs = self._run(run)
        chords = np.diff(points, axis=0)
        lengths = np.linalg.norm(chords, axis=1)
        stations = np.concatenate([[0.0], np.cumsum(lengths)])
        index = np.clip(np.searchsorted(stations, distances, side="right") - 1, 0, len(chords) - 1)
        share = np.clip((distances - stations[index]) / lengths[index], 0.0, 1.0)[:, None]
        origin = points[index] + share * chords[index]
        out = (1.0 - share) * outs[index] + share * outs[index + 1]
        if (corners := self.corners()).size:  # beside one it looks as the straight there does
            ahead, whole = chords[index] / lengths[index][:, None], np.isin(self._stretch(run), corners)
            for k, part in enumerate((1.0 - share, share)):
                lean = (outs[index + k] * ahead).sum(axis=1, keepdims=True) * whole[index + k, None]
                out -= np.where((part > NEAR) & (part < 1.0 - NEAR), part * lean, 0.0) * ahead
        out = unit(out)
        lean = (chords[index] * out).sum(axis=1, keepdims=True)
        return fr.from_axes(origin, chords[index] - lean * out, out)

    def _run(self, run: tuple[int, int] | None) -> tuple[np.ndarray, np.ndarray]:
        index = self._stretch(run)
        return self.points[index], self.outs[index]

    def _stretch(self, run: tuple[int, int] | None) -> np.ndarray:
        count = len(self.points)
        first, last = run or (0, count if self.closed else count - 1)
        return np.arange(first, last + 1) % count

    def runs(self) -> list[tuple[int, int]]:
        """Stretches between corners as (first, last) point indices, in order."""
        corners = [int(c) for c in self.corners()]
        count = len(self.points)
        if self.closed:
            if not corners:
                return [(0, count)]
            return [*zip(corners, [*corners[1:], corners[0] + count], strict=True)]
        stops = [0, *corners, count - 1]
        return [*itertools.pairwise(stops)]

    def pieces(self) -> tuple[Line, ...]:
        """The line cut at its corners, each stretch an open line; itself where it has none."""
        return tuple(Line(*self._run(run), False) for run in self.runs()) if len(self.corners()) else (self,)

    def run_length(self, run: tuple[int, int]) -> float:
        """Length of one run, mm."""
        points, _ = self._run(run)
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())

    def spaced(self, fit: float, limit: int) -> np.ndarray | None:
        """Frames along the line, evenly, as near ``fit`` mm apart as closes exactly.

        Every corner and, on an open line, both ends get a spot. None when more than ``limit``."""
        frames = []
        total = 0
        runs = self.runs()
        for run in runs:
            length = self.run_length(run)
            count = max(1, round(length / fit))
            total += count
            if total > limit:
                return None
            if self.closed and len(runs) == 1:
                count = max(3, count)
            frames.append(self.frames_at(np.arange(count) * (length / count), run))
        if not self.closed:
            frames.append(self.frames_at(np.array([self.run_length(runs[-1])]), runs[-1]))
        return np.concatenate(frames)

    def numbered(self, number: int) -> np.ndarray:
        """``number`` frames evenly along the whole line; an open line has one at either end."""
        length = self.length()
        if self.closed:
            return self.frames_at(np.arange(number) * (length / number))
        steps = np.array([length / 2]) if number == 1 else np.linspace(0.0, length, number)
        return self.frames_at(steps)


_inset = once(Line._moved_in)


def ring(points: np.ndarray, height: float, out: float = 1.0) -> Line:
    """A closed flat line from an outline's ``points`` (n, 2) at ``height``; ``out`` is +1 or -1.

    Facing back (-1) it is turned round, so that its inner side stays to the left."""
    loop = points if out > 0 else points[::-1]
    space = np.concatenate([loop, np.full((len(loop), 1), height)], axis=1)
    return Line(space, np.tile([0.0, 0.0, out], (len(loop), 1)), True)


def line_ends(line: Line) -> np.ndarray:
    """Frames at the start and the end of an open line, x pointing away from it."""
    whole = line.frames_at(np.array([0.0, line.length()]))
    start = fr.compose(whole[:1], fr.turned(2, 180.0))
    return np.concatenate([start, whole[1:]])


def frozen(line: Line) -> tuple[Any, ...]:
    """A line as plain hashable figures for the plan."""
    rounded = np.round(np.concatenate([line.points, line.outs], axis=1), 9) + 0.0
    return (rounded.tobytes(), len(rounded), line.closed)


def thawed(figures: tuple[Any, ...]) -> Line:
    """The line that ``frozen`` put away."""
    data, count, closed = figures
    both = np.frombuffer(data, dtype=float).reshape(count, 6)
    return Line(both[:, :3].copy(), both[:, 3:].copy(), closed)
