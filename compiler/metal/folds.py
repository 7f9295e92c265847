"""Leaving out what repeats: a piece whose work goes on the same for many periods is made short.

A fold takes whole periods out of the middle of an even stretch. The copies that stand there are
left out, everything beyond is moved up, and what runs straight through (a bar, a hollow) is
shortened. ``unfold`` puts the periods back into the finished metal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...lang.lean import dataclass
from ..shapes.mesh import SolidMesh
from .copies import Copies

LONG = 3.0  # a copy longer than this many periods is not one of a row of copies
NEAR = 1e-7  # mm


@dataclass(frozen=True)
class Fold:
    """``times`` periods of ``pitch`` mm are left out from ``at`` on, mm along world ``axis``. The
    period just before ``at`` is kept: it is the one that is repeated."""

    axis: int
    at: float
    pitch: float
    times: int

    @property
    def end(self) -> float:
        """Where the left-out stretch ends."""
        return self.at + self.times * self.pitch

    @property
    def by(self) -> float:
        """How far what lies beyond is moved up, mm."""
        return self.times * self.pitch


@dataclass(frozen=True)
class Folds:
    """Folds that do not overlap: one after another along an axis, or along different axes."""

    folds: tuple[Fold, ...]

    def along(self, axis: int) -> tuple[Fold, ...]:
        """Those of one axis, from low to high."""
        return tuple(
            sorted((f for f in self.folds if f.axis == axis), key=lambda fold: fold.at)
        )

    @property
    def axes(self) -> list[int]:
        """The axes there are folds along."""
        return sorted({fold.axis for fold in self.folds})

    def key(self) -> str:
        """What they are, as a text."""
        return repr(self.folds)

    def shift(self, points: np.ndarray, axis: int) -> np.ndarray:
        """How far coordinates along an axis are moved up; they lie in no left-out stretch."""
        total = np.zeros(np.shape(points))
        for fold in self.along(axis):
            total += np.where(points > (fold.at + fold.end) / 2, fold.by, 0.0)
        return total

    def short(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 3) of something that runs straight through, in the short piece."""
        points = points.copy()
        for axis in self.axes:
            points[:, axis] -= self.shift(points[:, axis], axis)
        return points

    def left_out(self, boxes: np.ndarray, axis: int) -> np.ndarray:
        """Which copies with ``boxes`` (n, 6) are left out along an axis, (n,) bool."""
        low, high = boxes[:, axis], boxes[:, axis + 3]
        middle, long = (low + high) / 2, high - low
        out = np.zeros(len(boxes), dtype=bool)
        for fold in self.along(axis):
            inside = (middle >= fold.at) & (middle < fold.end)
            out |= inside & (long <= LONG * fold.pitch)
        return out

    def periods(self, boxes: np.ndarray, axis: int) -> np.ndarray:
        """How many left-out periods lie before copies that stay, (n,)."""
        middle = (boxes[:, axis] + boxes[:, axis + 3]) / 2
        count = np.zeros(len(boxes), dtype=np.int64)
        for fold in self.along(axis):
            count += np.where(middle >= fold.end, fold.times, 0)
        return count

    def through(self, boxes: np.ndarray) -> np.ndarray:
        """Which copies run right through a left-out stretch, (n,) bool."""
        found = np.zeros(len(boxes), dtype=bool)
        for fold in self.folds:
            low, high = boxes[:, fold.axis], boxes[:, fold.axis + 3]
            found |= (low < fold.at) & (high > fold.end) & (high - low > LONG * fold.pitch)
        return found

    def of(self, copies: Copies) -> list[Copies]:
        """The copies as they stand in the short piece."""
        gone = self.gone(copies.boxes)
        through = self.through(copies.boxes) & ~gone
        rigid = copies.part(~gone & ~through)
        done = []
        if len(rigid):
            done.append(Copies(rigid.owner, rigid.mesh, self.moved(rigid.frames, rigid.boxes)))
        return done + [self._shortened(copies, int(index)) for index in np.flatnonzero(through)]

    def gone(self, boxes: np.ndarray) -> np.ndarray:
        """Which copies with ``boxes`` (n, 6) are left out along any axis, (n,) bool."""
        out = np.zeros(len(boxes), dtype=bool)
        for axis in self.axes:
            out |= self.left_out(boxes, axis)
        return out

    def moved(self, frames: np.ndarray, boxes: np.ndarray) -> np.ndarray:
        """Frames (n, 3, 4) of copies that stay, with ``boxes`` (n, 6), moved up."""
        frames = frames.copy()
        for axis in self.axes:
            middle = (boxes[:, axis] + boxes[:, axis + 3]) / 2
            frames[:, axis, 3] -= self.shift(middle, axis)
        return frames

    def _shortened(self, copies: Copies, index: int) -> Copies:
        """One copy, its points beyond a left-out stretch moved up; it stands in the world."""
        frame = copies.frames[index]
        mesh = copies.mesh
        points = self.short(mesh.points @ frame[:, :3].T + frame[:, 3])
        triangles = mesh.triangles
        if np.linalg.det(frame[:, :3]) < 0:
            triangles = triangles[:, ::-1]
        owner = replace(copies.owner, key=f"{copies.owner.key} {frame.tobytes()!r} {self.key()}")
        short = replace(mesh, points=points, triangles=triangles, exact=None)
        return Copies(owner, short, np.eye(3, 4)[None])


def straight_through(
    mesh: SolidMesh, frame: np.ndarray, axis: int, least: float
) -> list[tuple[float, float]]:
    """Stretches (low, high) mm, at least ``least`` long, along which a copy does not change: no
    point lies within, and every face that crosses runs along the axis."""
    points = mesh.points @ frame[:, :3].T + frame[:, 3]
    along = np.unique(points[:, axis])
    found = []
    for gap in np.flatnonzero(np.diff(along) >= least):
        low, high = float(along[gap]), float(along[gap + 1])
        corner = points[mesh.triangles]
        figure = corner[:, :, axis]
        crossing = corner[(figure.min(axis=1) <= low + NEAR) & (figure.max(axis=1) >= high - NEAR)]
        normal = np.cross(crossing[:, 1] - crossing[:, 0], crossing[:, 2] - crossing[:, 0])
        size = np.linalg.norm(normal, axis=1)
        if (np.abs(normal[:, axis]) <= 1e-10 * size).all():
            found.append((low, high))
    return found


def stretches(folds: Sequence[Fold]) -> list[tuple[float, int]]:
    """Cut places along an axis in the short piece, each with how often the part before it is
    repeated."""
    found: list[tuple[float, int]] = []
    gone = 0.0
    for fold in folds:
        at = fold.at - gone
        found += [(at - fold.pitch, 1), (at, fold.times + 1)]
        gone += fold.by
    return found
