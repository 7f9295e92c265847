"""Uniform cells over triangles: which triangles are near a box, and what a ray meets first."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from functools import cached_property

import numpy as np

from .cell_walk import CellWalk
from .kinds import Flags, Floats, Ints, cross, distinct, dot, least, least_by_row, most, spread

MOST_CELLS = 1_000_000
FEW_ENTRIES = 200_000
MOST_LINES = 400_000
ROOM = 400_000
"""Ray and triangle pairs worked on at a time; bounds memory to some 100 MB."""


class Grid:
    """Cells of equal size over (m, 3, 3) triangles; each lists the triangles that enter it.

    The cell is about twice the size of a middling triangle, grown until cells and entries stay under fixed
    counts, so memory is bounded whatever the mesh."""

    def __init__(self, corners: Floats, normals: Floats, cell: float | None = None) -> None:
        self.corners = corners
        self.normals = normals
        ends = [(least(corners[:, :, axis]), most(corners[:, :, axis])) for axis in range(3)]
        # Lowest and highest place of each triangle along x, y, z, in columns (quicker).
        self._sides: list[tuple[Floats, Floats]] = ends
        flat = np.zeros(3)
        self.origin = (np.array([low.min() for low, _ in ends]) if len(corners) else flat) - 1e-6
        self.top = (np.array([high.max() for _, high in ends]) if len(corners) else flat) + 1e-6
        self.cell = cell or self._cell(self.top)
        self._fit(self.top)
        self._fill()

    def _cell(self, top: Floats) -> float:
        """A cell that holds a handful of triangles: from the area of the box over the count."""
        size = np.sort(top - self.origin)
        area = 2 * (size[2] * size[1] + size[2] * size[0] + size[1] * size[0])
        return float(max(2.0 * np.sqrt(area / max(len(self.corners), 200)), size[2] / 250, 1e-6))

    def _fit(self, top: Floats) -> None:
        """Settle cell size and counts, and the box of cells of every triangle."""
        while True:
            self.shape = np.maximum(np.ceil((top - self.origin) / self.cell), 1).astype(np.int64)
            self._first = [self._column(low, axis) for axis, (low, _) in enumerate(self._sides)]
            self._last = [self._column(high, axis) for axis, (_, high) in enumerate(self._sides)]
            spans = np.ones(len(self.corners), dtype=np.int64)
            for first, last in zip(self._first, self._last, strict=True):
                spans *= last - first + 1
            most = max(FEW_ENTRIES, 3 * len(spans))
            if np.prod(self.shape) <= MOST_CELLS and spans.sum() <= most:
                self._spans = spans
                return
            self.cell *= 1.4

    def cells(self, at: Floats) -> Ints:
        """Cell indices (n, 3) of positions (n, 3) mm, held inside the grid."""
        index = np.floor((at - self.origin) / self.cell)
        return np.clip(index, 0, self.shape - 1).astype(np.int64)

    def _column(self, at: Floats, axis: int) -> Ints:
        """Cell indices (n,) along one axis."""
        index = ((at - self.origin[axis]) * (1 / self.cell)).astype(np.int64)
        return np.clip(index, 0, self.shape[axis] - 1)

    def key(self, cell: Ints) -> Ints:
        """One number for each (n, 3) cell index."""
        return np.asarray((cell[:, 0] * self.shape[1] + cell[:, 1]) * self.shape[2] + cell[:, 2])

    def _fill(self) -> None:
        """List the triangles of each cell, dropping cells that a triangle's plane passes by."""
        one = np.flatnonzero(self._spans == 1)
        x, y, z = (first[one] for first in self._first)
        single = (x * self.shape[1] + y) * self.shape[2] + z
        wide = np.flatnonzero(self._spans > 1)
        row, x, y, z = _boxes(
            [first[wide] for first in self._first], [last[wide] for last in self._last], self._spans[wide],
        )  # fmt: skip
        triangle = wide[row]
        keep = np.ones(len(triangle), dtype=bool)
        many = np.flatnonzero(self._spans[triangle] > 4)
        own = triangle[many]
        off = np.zeros(len(many))
        for axis, column in enumerate((x, y, z)):
            middle = self.origin[axis] + (column[many] + 0.5) * self.cell
            off += self.normals[own, axis] * (middle - self.corners[own, 0, axis])
        size = np.abs(self.normals).sum(axis=1)[own]
        keep[many] = np.abs(off) <= 0.5001 * self.cell * size + 1e-9
        several = ((x * self.shape[1] + y) * self.shape[2] + z)[keep]
        keys = np.concatenate((single, several))
        # Cell and triangle in one number: sorting numbers is quicker than finding their order.
        bits = np.int64(max(len(self.corners), 1)).item().bit_length()
        codes = np.sort(keys << bits | np.concatenate((one, triangle[keep])))
        self.entries = codes & ((1 << bits) - 1)
        counts = np.bincount(keys, minlength=int(np.prod(self.shape)))
        self.starts = np.r_[0, np.cumsum(counts)].astype(np.int64)

    def near(self, low: Floats, high: Floats, among: Flags | None = None) -> tuple[Ints, Ints]:
        """Pairs (query, triangle) of boxes `low`..`high` (n, 3) and triangles near them: all that enter a
        box, some whose own boxes only meet it. Each pair once, in order. `among` (m,) tells which triangles
        are wanted at all."""
        asked = np.flatnonzero(np.all((low <= self.top) & (high >= self.origin), axis=1))
        if not len(asked):
            return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
        first, last = self.cells(low[asked]), self.cells(high[asked])
        # The cells of a box lie row by row, and the lists of one row follow one another.
        lines = (last - first + 1)[:, 0] * (last - first + 1)[:, 1]
        if lines.sum() > MOST_LINES and np.prod(self.shape) > 64:
            return self.coarser.near(low, high, among)
        rows, line = spread(lines)
        deep = (last - first + 1)[rows, 1]
        start = first[rows]
        start[:, 0] += line // deep
        start[:, 1] += line % deep
        begin = self.key(start)
        begin, end = self.starts[begin], self.starts[begin + (last - first)[rows, 2] + 1]
        work = np.cumsum(end - begin)
        places = np.searchsorted(work, np.arange(ROOM, work[-1], ROOM))
        found = [
            self._near(low, high, asked[rows[part]], begin[part], end[part], among)
            for part in np.split(np.arange(len(rows)), places)
        ]
        codes = distinct(np.concatenate(found))
        return codes // len(self.corners), codes % len(self.corners)

    def _near(
        self, low: Floats, high: Floats, query: Ints, begin: Ints, end: Ints, among: Flags | None
    ) -> Ints:
        """The pairs of some rows of cells, as one number each; some more than once."""
        rows, places = spread(end - begin, begin)
        triangle = self.entries[places]
        if among is not None:
            hit = np.flatnonzero(among[triangle])
            rows, triangle = rows[hit], triangle[hit]
        row = query[rows]
        for axis, (bottom, top) in enumerate(self._sides):
            under, over = low[:, axis][row], high[:, axis][row]
            hit = np.flatnonzero((bottom[triangle] <= over) & (top[triangle] >= under))
            row, triangle = row[hit], triangle[hit]
        return np.asarray(row * np.int64(len(self.corners)) + triangle)

    def turned(self, corners: Floats, normals: Floats) -> Grid:
        """The same cells over the same triangles turned the other way."""
        grid = copy(self)
        grid.__dict__.pop("coarser", None)
        grid.corners, grid.normals = corners, normals
        return grid

    @cached_property
    def coarser(self) -> Grid:
        """The same triangles in cells four times the size, for large boxes."""
        return Grid(self.corners, self.normals, 4 * self.cell)

    def cast(
        self, origin: Floats, along: Floats, leaving: bool = True, reach: Floats | float = np.inf
    ) -> tuple[Floats, Ints]:
        """First triangle met by each ray: (distance (n,) mm, triangle (n,)); inf, -1 if none within `reach`
        mm (one, or one to each).

        `along` are unit vectors. With `leaving` only faces turned along the ray are met, that is, the rays
        are taken to start in metal. Exact to rounding. Cost grows with the cells passed, at most the sum of
        the three cell counts."""
        best = np.full(len(origin), reach)
        which = np.full(len(origin), -1, dtype=np.int64)
        walk = CellWalk(self, origin, along)
        while len(walk.ray):
            self._meet(walk, origin, along, leaving, best, which)
            walk.step(best)
        best[which < 0] = np.inf
        return best, which

    def _meet(
        self, walk: CellWalk, origin: Floats, along: Floats, leaving: bool, best: Floats, which: Ints
    ) -> None:
        """Test the rays against the triangles of the cells they stand in."""
        keys = self.key(walk.cell)
        counts = self.starts[keys + 1] - self.starts[keys]
        full = np.flatnonzero(counts)
        if not len(full):
            return
        for some in np.array_split(full, 1 + int(counts.sum()) // ROOM):
            # What is met past this cell is met again in its own.
            most = np.minimum(best[walk.ray[some]], walk.next[some].min(axis=1) + 1e-6)
            rows, triangle = self._passed(walk, some, keys[some], counts[some], most, origin, along)
            if not len(rows):
                continue
            ray = walk.ray[some][rows]
            ray, triangle, far = self._hits(ray, triangle, origin, along, leaving, most[rows])
            rays, least = least_by_row(ray, far)
            closer = far[least] < best[rays]
            best[rays[closer]] = far[least[closer]]
            which[rays[closer]] = triangle[least[closer]]

    def _passed(
        self, walk: CellWalk, some: Ints, keys: Ints, counts: Ints, most: Floats, origin: Floats,
        along: Floats,
    ) -> tuple[Ints, Ints]:
        """Pairs (which of `some`, triangle) whose box the ray's way through its cell comes near."""
        ray = walk.ray[some]
        rows, places = spread(counts, self.starts[keys])
        triangle = self.entries[places]
        for axis, (bottom, top) in enumerate(self._sides):
            start = origin[ray, axis] + (walk.at[some] - 1e-6) * along[ray, axis]
            end = origin[ray, axis] + most * along[ray, axis]
            under, over = np.minimum(start, end) - 1e-6, np.maximum(start, end) + 1e-6
            hit = np.flatnonzero((bottom[triangle] <= over[rows]) & (top[triangle] >= under[rows]))
            rows, triangle = rows[hit], triangle[hit]
        return rows, triangle

    def _hits(
        self, ray: Ints, triangle: Ints, origin: Floats, along: Floats, leaving: bool, most: Floats
    ) -> tuple[Ints, Ints, Floats]:
        """Those ray and triangle pairs that meet no farther than `most`, with the distance."""
        normal, way = self.normals[triangle], along[ray]
        slope = dot(way, normal)
        some = np.flatnonzero(slope > 1e-9 if leaving else np.abs(slope) > 1e-9)
        ray, triangle, way = ray[some], triangle[some], way[some]
        corner = self.corners[triangle, 0]
        go = corner - origin[ray]
        far = dot(normal[some], go) / slope[some]
        some = np.flatnonzero((far > 1e-9) & (far <= most[some]))
        ray, triangle, far = ray[some], triangle[some], far[some]
        # Where the plane is met, in shares of two sides of the triangle.
        spot = far[:, None] * way[some] - go[some]
        corner, second, third = (self.corners[triangle, k] for k in range(3))
        one, two = second - corner, third - corner
        out = cross(one, two)
        size = dot(out, out)
        u, v = dot(cross(spot, two), out), dot(cross(one, spot), out)
        edge = -1e-9 * size
        hit = (u >= edge) & (v >= edge) & (u + v <= size - edge) & (size > 0)
        return ray[hit], triangle[hit], far[hit]


def _boxes(first: Sequence[Ints], last: Sequence[Ints], counts: Ints) -> tuple[Ints, Ints, Ints, Ints]:
    """Every cell of each box of cells, given by columns: box of each cell, and its x, y, z."""
    row, place = spread(counts)
    wide, deep = ((last[axis] - first[axis] + 1)[row] for axis in (1, 2))
    rest, z = np.divmod(place, deep)
    x, y = np.divmod(rest, wide)
    return row, x + first[0][row], y + first[1][row], z + first[2][row]
