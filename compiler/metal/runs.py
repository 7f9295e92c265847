"""Even straight rows of small copies, and the one cell that such a row is made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...lang.lean import dataclass
from .copies import Copies
from .kernel import Patch, box
from .owners import NOBODY

LEAST = 24  # copies in a row that are worth it
EVEN = 5e-9  # mm by which rounded steps of an even row may differ
FLAT = 1e-9  # mm


@dataclass(frozen=True, eq=False)
class Run:
    """An even straight row: ``copies`` in order, ``axes`` rows along, across and out of the face,
    ``pitch`` mm. In local figures the first copy's origin is zero."""

    copies: Copies
    axes: np.ndarray
    pitch: float

    @property
    def origin(self) -> np.ndarray:
        """Where the first copy stands."""
        return np.asarray(self.copies.frames[0, :, 3])

    def local(self, points: np.ndarray) -> np.ndarray:
        """``points`` in the run's own figures."""
        columns = points.T
        return np.stack([
            axis[0] * columns[0] + axis[1] * columns[1] + axis[2] * columns[2] - axis @ self.origin
            for axis in self.axes
        ], axis=1)  # fmt: skip

    def turn(self) -> np.ndarray:
        """How a copy stands to the run's axes, (3, 3); free of the noise of rounded frames."""
        return np.asarray(np.round(self.axes @ self.copies.frames[0, :, :3], 9) + 0.0)

    def shape(self) -> np.ndarray:
        """Points of one copy about its own origin, along the run's axes."""
        return np.asarray(self.copies.mesh.points @ self.turn().T)


@dataclass(frozen=True, eq=False)
class Cell:
    """One cell of a run: ``points`` about the copy's origin; of the ``triangles`` the first ``flat``
    are face. ``left``, ``right``: matching points at the two mid-planes; ``sides`` their ends.
    ``rise``: volume over the face, mm3."""

    points: np.ndarray
    triangles: np.ndarray
    face: np.ndarray
    flat: int
    left: np.ndarray
    right: np.ndarray
    rise: float
    pitch: float
    wide: float
    level: float
    top: float
    depth: float


@dataclass(frozen=True, eq=False)
class Strip:
    """Cells in place of the copies ``first`` to ``last`` (not itself) of a run, on a face whose
    triangles carry ``mark``, ``face`` and ``cut``."""

    run: Run
    cell: Cell
    first: int
    last: int
    mark: int
    face: int
    cut: bool

    @property
    def count(self) -> int:
        """How many cells."""
        return self.last - self.first

    def block(self) -> Patch:
        """The block that stands in for the cells (its mark is nobody's)."""
        cell = self.cell
        x0, x1 = (np.array([self.first, self.last]) - 0.5) * cell.pitch
        low = np.array([x0, -cell.wide, cell.level - cell.depth])
        high = np.array([x1, cell.wide, cell.top])
        block = box(low, high, NOBODY)
        return replace(block, points=block.points @ self.run.axes + self.run.origin)

    def gain(self) -> float:
        """Volume of the cells over the face less that of the block, mm3."""
        cell = self.cell
        block = 2 * cell.wide * self.count * cell.pitch * (cell.top - cell.level)
        return self.count * cell.rise - block


def runs_of(copies: Copies) -> list[tuple[int, int, Run]]:
    """The first copy, the last (not itself) and the run of each long even row of copies that fill
    at least half of it; looser rows cost the kernel little."""
    found = []
    for first, last in even_rows(copies):
        run = run_of(copies.part(np.arange(first, last)))
        if run is not None and 4 * np.abs(run.shape()[:, 0]).max() > run.pitch:
            found.append((first, last, run))
    return found


def even_rows(copies: Copies) -> list[tuple[int, int]]:
    """(first, last + 1) of stretches of frames that differ by one and the same shift."""
    step = np.diff(copies.frames, axis=0)
    shift = step[:, :, 3]
    even = (np.abs(step[:, :, :3]).max(axis=(1, 2)) < FLAT) & (np.linalg.norm(shift, axis=1) > 1e-6)
    alike = even[1:] & even[:-1] & (np.abs(np.diff(shift, axis=0)).max(axis=1) < EVEN)
    found, start = [], 0
    for index in [*np.flatnonzero(~alike), len(alike)]:
        if index - start + 2 >= LEAST:
            found.append((start, int(index) + 2))
        start = int(index) + 1
    # Two stretches may share the copy at which they meet: the first has it.
    return [
        (max(a, found[k - 1][1]) if k else a, b)
        for k, (a, b) in enumerate(found)
        if b - (max(a, found[k - 1][1]) if k else a) >= LEAST
    ]


def run_of(copies: Copies) -> Run | None:
    """The row as a run, when it goes square to the way its copies face."""
    frames = copies.frames
    way = frames[-1, :, 3] - frames[0, :, 3]
    long = float(np.linalg.norm(way))
    along, out = way / long, frames[0, :, 2]
    if abs(along @ out) > FLAT:
        return None
    return Run(copies, np.stack([along, np.cross(out, along), out]), long / (len(copies) - 1))
