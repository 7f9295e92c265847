"""Putting back what a fold left out: the short metal cut into lengths, one of them laid again and
again, all sewn end to end.

The kernel cuts; the ends of neighbouring lengths must then meet point for point and edge for edge.
Where they do not, there is no result, and the whole piece is given to the kernel instead.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from .fans import fanned, joined
from .folds import Folds, stretches
from .kernel import Readout, box, problem, read, solid_of
from .owners import NOBODY
from .seam import WELD, nearest, packed, rim

if TYPE_CHECKING:
    from manifold3d import Manifold

ROOM = 1.0  # mm by which the block that cuts reaches past the metal
# Marks of the faces that the cuts between lengths leave, one for each axis.
CUTS = tuple(NOBODY - 8 - axis for axis in range(3))

# (marks (m,), axis, number of the length, by how many periods it is moved on (k,)) to the marks of
# the copies that stand there (k, m); None when they cannot be told.
Renamed = Callable[[np.ndarray, int, int, np.ndarray], np.ndarray | None]


def lengths_of(solid: Manifold, folds: Folds) -> tuple[list[Readout], float] | None:
    """The short metal cut along all axes, in the order x slowest; and the volume of the whole."""
    parts = [(solid, 1)]
    for axis in range(3):
        cuts = stretches(folds.along(axis))
        if cuts:
            parts = [
                (piece, often * times)
                for part, often in parts
                for piece, times in _cut(part, axis, cuts)
            ]
    volume = 0.0
    found = []
    for part, often in parts:
        if problem(part) is not None:
            return None
        found.append(read(part))
        volume += often * float(part.volume())
    return found, volume


def _cut(solid: Manifold, axis: int, cuts: Sequence[tuple[float, int]]) -> list[tuple[Manifold, int]]:
    """Parts of a solid below, between and above cuts square to an axis, each with how often it is
    laid."""
    parts = []
    bounds = np.array(solid.bounding_box())
    for place, times in cuts:
        low, high = bounds[:3] - ROOM, bounds[3:] + ROOM
        high[axis] = place
        below, solid = solid.split(solid_of([box(low, high, CUTS[axis])]))
        parts.append((below, times))
    return [*parts, (solid, 1)]


def unfolded(parts: Sequence[Readout], folds: Folds, renamed: Renamed) -> Readout | None:
    """The whole metal of the cut lengths; None where their ends do not meet."""
    axes = [axis for axis in range(3) if folds.along(axis)]
    parts = list(parts)
    for axis in reversed(axes):
        cuts = stretches(folds.along(axis))
        size = len(cuts) + 1
        rows = [parts[k : k + size] for k in range(0, len(parts), size)]
        strung = [_strung(row, axis, folds, renamed) for row in rows]
        if any(one is None for one in strung):
            return None
        parts = [one for one in strung if one is not None]
    return parts[0]


def _strung(parts: Sequence[Readout], axis: int, folds: Folds, renamed: Renamed) -> Readout | None:
    cuts = stretches(folds.along(axis))
    places = [None, *(place for place, _ in cuts), None]
    times = [*(count for _, count in cuts), 1]
    pitches = [fold.pitch for fold in folds.along(axis) for _ in range(2)] + [0.0]
    ends = [
        _Ends(mesh, axis, places[k], places[k + 1]) for k, mesh in enumerate(parts)
    ]
    for k in range(len(folds.along(axis))):
        left, cell, right = ends[2 * k : 2 * k + 3]
        if not _agree([left.high, cell.low, cell.high, right.low]):
            return None
    return _laid(ends, axis, times, pitches, renamed)


class _Curve:
    """The edges (k, 2) of a part in one cut, and their points in the plane of the cut."""

    def __init__(self, ends: _Ends, edges: np.ndarray) -> None:
        self.ends, self.edges = ends, edges
        self.points = np.unique(edges)

    def flat(self, index: np.ndarray) -> np.ndarray:
        """Points in the plane of the cut."""
        others = [k for k in range(3) if k != self.ends.axis]
        return np.asarray(self.ends.points[index][:, others])

    def take_in(self, spots: np.ndarray) -> bool:
        """Give the edges every one of ``spots`` (m, 2) that lies on one and is not its end."""
        known, new = self.flat(self.points), []
        for spot in spots:
            if len(known) == 0 or np.abs(known - spot).max(axis=1).min() > WELD:
                new.append(spot)
                known = np.concatenate([known, spot[None]])
        if not new:
            return True
        a, b = self.flat(self.edges[:, 0]), self.flat(self.edges[:, 1])
        way = b - a
        square = np.maximum((way * way).sum(axis=1), 1e-300)
        on: dict[int, list[tuple[float, int]]] = {}
        for spot in new:
            share = ((spot - a) * way).sum(axis=1) / square
            off = np.abs(a + share[:, None] * way - spot).max(axis=1)
            off[(share <= 0) | (share >= 1)] = np.inf
            row = int(np.argmin(off))
            if off[row] > WELD:
                return False
            on.setdefault(row, []).append((float(share[row]), self.ends.add(spot, self)))
        return self.ends.split(self, on)


class _Ends:
    """A part without the faces of its cuts; its edges there can be given points in between."""

    def __init__(self, mesh: Readout, axis: int, low: float | None, high: float | None) -> None:
        self.axis = axis
        cap = mesh.mark == CUTS[axis]
        middle = mesh.points[mesh.triangles[:, 0], axis]
        kept = np.flatnonzero(~cap)
        self.mesh = mesh
        self.points = mesh.points.copy()
        self.triangles, self.source = mesh.triangles[kept], kept
        self.places = (low, high)
        self.low = self._curve(mesh.triangles[cap & _at(middle, low)], low)
        self.high = self._curve(mesh.triangles[cap & _at(middle, high)], high)

    def _curve(self, cap: np.ndarray, place: float | None) -> _Curve:
        if place is None or len(cap) == 0:
            return _Curve(self, np.zeros((0, 2), dtype=np.int64))
        edges = rim(cap)[:, ::-1]  # as the kept triangles go round
        self.points[np.unique(edges), self.axis] = place
        return _Curve(self, edges)

    def add(self, spot: np.ndarray, curve: _Curve) -> int:
        """A new point in the plane of a curve."""
        place = self.places[0 if curve is self.low else 1]
        assert place is not None  # only a cut has points to give
        point = np.insert(spot, self.axis, place)
        self.points = np.concatenate([self.points, point[None]])
        return len(self.points) - 1

    def split(self, curve: _Curve, on: dict[int, list[tuple[float, int]]]) -> bool:
        """Put new points on edges of a curve: for each row of its edges (share, point)."""
        rows = np.array(sorted(on))
        inner = [[point for _, point in sorted(on[row])] for row in rows.tolist()]
        edges = curve.edges[rows]
        chains = joined(
            edges[:, 0], np.array([point for points in inner for point in points]),
            np.array([len(points) for points in inner]), edges[:, 1],
        )  # fmt: skip
        found = fanned(self.triangles, chains)
        if found is None:
            return False
        self.triangles, source = found
        self.source = self.source[source]
        curve.edges = np.concatenate([np.delete(curve.edges, rows, axis=0), chains.pairs()])
        curve.points = np.unique(curve.edges)
        return True


def _at(figures: np.ndarray, place: float | None) -> np.ndarray:
    if place is None:
        return np.zeros(len(figures), dtype=bool)
    return np.asarray(np.abs(figures - place) < WELD)


def _agree(curves: Sequence[_Curve]) -> bool:
    """Give all curves of one cut each other's points; whether they then are the same."""
    spots = np.concatenate([curve.flat(curve.points) for curve in curves])
    if not all(curve.take_in(spots) for curve in curves):
        return False
    return len({len(curve.edges) for curve in curves}) == 1


def _partners(high: _Curve, low: _Curve) -> np.ndarray | None:
    """For each point of ``low`` the same point of ``high``, if the edges are the same too."""
    mine, theirs = low.flat(low.points), high.flat(high.points)
    if len(mine) != len(theirs):
        return None
    if len(mine) == 0:
        return np.zeros(0, dtype=np.int64)
    found = nearest(mine, theirs)
    if (found < 0).any() or len(np.unique(found)) != len(found):
        return None
    partner = high.points[found]
    index = np.zeros(int(low.points.max()) + 1, dtype=np.int64)
    index[low.points] = partner
    ours = index[low.edges][:, ::-1]
    size = int(max(ours.max(), high.edges.max())) + 1
    same = np.array_equal(
        np.sort(ours[:, 0] * size + ours[:, 1]),
        np.sort(high.edges[:, 0] * size + high.edges[:, 1]),
    )
    return partner if same else None


def _laid(
    ends: Sequence[_Ends],
    axis: int,
    times: Sequence[int],
    pitches: Sequence[float],
    renamed: Renamed,
) -> Readout | None:
    """All lengths one after another, each as often as it is laid, welded where they meet."""
    roll = _Roll(axis, renamed)
    for part, (end, count, pitch) in enumerate(zip(ends, times, pitches, strict=True)):
        if not roll.lay(end, part, count, pitch):
            return None
    return roll.mesh()


class _Roll:
    """Lengths laid so far along an axis."""

    def __init__(self, axis: int, renamed: Renamed) -> None:
        self.axis, self.renamed = axis, renamed
        self.points: list[np.ndarray] = []
        self.weld: list[np.ndarray] = []
        self.triangles: list[np.ndarray] = []
        self.columns: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        self.size, self.gone, self.periods = 0, 0.0, 0
        self.last: tuple[_Ends, int] | None = None  # and where its points begin

    def lay(self, end: _Ends, part: int, count: int, pitch: float) -> bool:
        """Lay a length ``count`` times; whether its ends meet what they should."""
        weld = self._welded(end, count)
        source = end.mesh.mark[end.source]
        marks = self.renamed(source, self.axis, part, self.periods + np.arange(count))
        if weld is None or marks is None:
            return False
        size = len(end.points)
        spread = np.tile(end.points, (count, 1))
        spread[:, self.axis] += self.gone + np.repeat(np.arange(count) * pitch, size)
        self.points.append(spread)
        self.weld.append(weld)
        shift = self.size + np.arange(count)[:, None, None] * size
        self.triangles.append((end.triangles[None] + shift).reshape(-1, 3))
        face, cut = end.mesh.face[end.source], end.mesh.cut[end.source]
        self.columns.append((marks.ravel(), np.tile(face, count), np.tile(cut, count)))
        self.last = end, self.size + (count - 1) * size
        self.size += count * size
        self.gone += (count - 1) * pitch
        self.periods += count - 1
        return True

    def _welded(self, end: _Ends, count: int) -> np.ndarray | None:
        """For each point of the copies of a length its own number, or that of the point it is
        welded to."""
        size = len(end.points)
        weld = np.arange(self.size, self.size + count * size)
        if self.last is not None:
            before, offset = self.last
            partner = _partners(before.high, end.low)
            if partner is None:
                return None
            weld[end.low.points] = partner + offset
        if count > 1:
            partner = _partners(end.high, end.low)
            if partner is None:
                return None
            later = np.arange(1, count)[:, None] * size
            weld[(later + end.low.points).ravel()] = (self.size + later - size + partner).ravel()
        return weld

    def mesh(self) -> Readout:
        """All of it, without points that nothing has."""
        rows = np.concatenate(self.weld)[np.concatenate(self.triangles)]
        return packed(np.concatenate(self.points), [rows], self.columns)
