"""Sewing meshes into the hole that taken-out triangles leave, edge to edge."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from ..lang.lean import dataclass
from .kernel import Readout

WELD = 1e-6  # mm within which two points of a seam are one


@dataclass(frozen=True, eq=False)
class Laid:
    """A piece to be sewn in: its mesh, and the ``edges`` (k, 2) round it, in the direction of its
    triangles; ``sides`` (k,) numbers the straight sides that edges lie on (-1: none)."""

    mesh: Readout
    edges: np.ndarray
    sides: np.ndarray


def sewn(out: Readout, dropped: np.ndarray, pieces: Sequence[Laid]) -> Readout | None:
    """``out`` without the ``dropped`` triangles, the pieces in their place; None unless every
    edge of the hole meets exactly one edge of a piece, and the other way round."""
    hole = rim(out.triangles[dropped])
    seam = np.unique(hole)
    points, start = [out.points], len(out.points)
    cloths = []
    for piece in pieces:
        index = _welded(piece, out.points, seam, start)
        cloths.append(_Cloth(piece, index))
        points.append(piece.mesh.points)
        start += len(piece.mesh.points)
    everywhere = np.concatenate(points)
    _share_points(everywhere, hole, cloths)
    kept = np.flatnonzero(~dropped)
    touching = np.isin(out.triangles[kept], seam).sum(axis=1) >= 2
    outer = Split(out.triangles[kept[touching]])
    if not _matched(hole, cloths, outer):
        return None
    whole = kept[~touching]
    fans, source = outer.triangles()
    return _packed(
        everywhere,
        [out.triangles[whole], fans, *(cloth.triangles for cloth in cloths)],
        [
            _columns(out, whole),
            _columns(out, kept[touching][source]),
            *(_columns(cloth.piece.mesh, cloth.source) for cloth in cloths),
        ],
    )


def rim(triangles: np.ndarray) -> np.ndarray:
    """Directed edges (k, 2) of triangles without a neighbour among them."""
    edges = np.concatenate([triangles[:, [k, (k + 1) % 3]] for k in range(3)])
    size = int(edges.max()) + 1
    code = edges[:, 0] * size + edges[:, 1]
    return np.asarray(edges[~np.isin(code, edges[:, 1] * size + edges[:, 0])])


def _welded(piece: Laid, points: np.ndarray, seam: np.ndarray, start: int) -> np.ndarray:
    """The index of each point of the piece: that of the seam's point where one is, or its own."""
    index = np.arange(len(piece.mesh.points)) + start
    border = np.unique(piece.edges)
    mine, theirs = piece.mesh.points[border], points[seam]
    order = np.lexsort(theirs.T[::-1])
    low = np.searchsorted(theirs[order, 0], mine[:, 0] - WELD)
    high = np.searchsorted(theirs[order, 0], mine[:, 0] + WELD)
    for row in np.flatnonzero(high > low):
        near = order[low[row] : high[row]]
        gap = np.abs(theirs[near] - mine[row]).max(axis=1)
        best = int(np.argmin(gap))
        if gap[best] <= WELD:
            index[border[row]] = seam[near[best]]
    return index


class _Cloth:
    """A piece in the numbers of the whole; its edges can be given points in between."""

    def __init__(self, piece: Laid, index: np.ndarray) -> None:
        self.piece = piece
        self.triangles = index[piece.mesh.triangles]
        self.source = np.arange(len(self.triangles))
        self.edges = index[piece.edges]
        self.sides = piece.sides

    def chains(self) -> list[dict[int, int]]:
        """For each straight side, the next of each of its points."""
        return [
            dict(self.edges[self.sides == side].tolist())
            for side in range(int(self.sides.max(initial=-1)) + 1)
        ]

    def take_in(self, points: np.ndarray, spots: np.ndarray) -> np.ndarray:
        """Put those of the points ``spots`` that lie on straight sides on the edges there; returns
        the others."""
        chains: list[tuple[int, list[int]]] = []
        for side in range(int(self.sides.max(initial=-1)) + 1):
            rows, along = self._on_side(points, spots, side)
            order = np.lexsort((along, rows))
            order = order[rows[order] >= 0]
            for mine in np.split(order, np.flatnonzero(np.diff(rows[order])) + 1):
                if len(mine):
                    row = int(rows[mine[0]])
                    first, last = self.edges[row].tolist()
                    chains.append((row, [first, *spots[mine].tolist(), last]))
            spots = spots[rows < 0]
        if not chains:
            return spots
        touched = self._with_edges(np.array([row for row, _ in chains]))
        fans = Split(self.triangles[touched])
        if not all(fans.split(chain) for _, chain in chains):
            return spots  # the hole and the edges will not match, and that is seen there
        self._divide(chains)
        made, source = fans.triangles()
        self.triangles = np.concatenate([self.triangles[~touched], made])
        self.source = np.concatenate([self.source[~touched], self.source[touched][source]])
        return spots

    def _on_side(
        self, points: np.ndarray, spots: np.ndarray, side: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """For each spot the row of the side's edge it lies on (-1: none), and how far along."""
        rows = np.flatnonzero(self.sides == side)
        if len(rows) == 0 or len(spots) == 0:
            return np.full(len(spots), -1), np.zeros(len(spots))
        start, stop = points[self.edges[rows, 0]], points[self.edges[rows, 1]]
        way = (stop - start)[0] / np.linalg.norm((stop - start)[0])
        order = np.argsort(start @ way)
        begin, end = (start @ way)[order], (stop @ way)[order]
        along = points[spots] @ way
        place = np.clip(np.searchsorted(begin, along) - 1, 0, len(rows) - 1)
        off = points[spots] - start[0] - np.outer(along - start[0] @ way, way)
        on = (np.abs(off).max(axis=1) <= WELD) & (along > begin[place]) & (along < end[place])
        return np.where(on, rows[order][place], -1), along

    def _with_edges(self, rows: np.ndarray) -> np.ndarray:
        """Which triangles have one of these edges, (m,) bool."""
        size = int(max(self.triangles.max(), self.edges.max())) + 1
        wanted = np.sort(self.edges[rows, 0] * size + self.edges[rows, 1])
        near = np.zeros(size, dtype=bool)
        near[self.edges[rows, 0]] = True
        found = np.zeros(len(self.triangles), dtype=bool)
        for k in range(3):
            index = np.flatnonzero(near[self.triangles[:, k]])
            code = self.triangles[index, k] * size + self.triangles[index, (k + 1) % 3]
            place = np.minimum(np.searchsorted(wanted, code), len(wanted) - 1)
            found[index[wanted[place] == code]] = True
        return found

    def _divide(self, chains: Sequence[tuple[int, list[int]]]) -> None:
        """Put edges in the place of edges; the new ones come last."""
        rows = np.array([row for row, _ in chains])
        parts = [list(itertools.pairwise(chain)) for _, chain in chains]
        sides = np.repeat(self.sides[rows], [len(part) for part in parts])
        self.edges = np.concatenate([
            np.delete(self.edges, rows, axis=0), np.array([e for part in parts for e in part]),
        ])  # fmt: skip
        self.sides = np.concatenate([np.delete(self.sides, rows), sides])


def _share_points(points: np.ndarray, hole: np.ndarray, cloths: Sequence[_Cloth]) -> None:
    """Give the pieces the points that the hole has along their straight sides."""
    known = np.unique(np.concatenate([cloth.edges for cloth in cloths]))
    missing = np.setdiff1d(np.unique(hole), known)
    for cloth in cloths:
        if len(missing):
            missing = cloth.take_in(points, missing)


class Split:
    """Triangles whose edges can be given points in between; knows which one each came from."""

    def __init__(self, triangles: np.ndarray) -> None:
        self._rows: list[tuple[int, ...] | None] = [tuple(t) for t in triangles.tolist()]
        self._source = list(range(len(triangles)))
        self._at: dict[tuple[int, int], int] = {}
        for row in range(len(self._rows)):
            self._enter(row)

    def _enter(self, row: int) -> None:
        triangle = self._rows[row]
        assert triangle is not None
        for k in range(3):
            self._at[triangle[k], triangle[(k + 1) % 3]] = row

    def split(self, chain: list[int]) -> bool:
        """Put the inner points of ``chain`` on the edge from its first to its last point."""
        row = self._at.pop((chain[0], chain[-1]), None)
        triangle = None if row is None else self._rows[row]
        if row is None or triangle is None:
            return False
        apex = next(k for k in triangle if k not in (chain[0], chain[-1]))
        self._rows[row] = None
        for a, b in itertools.pairwise(chain):
            self._rows.append((a, b, apex))
            self._source.append(self._source[row])
            self._enter(len(self._rows) - 1)
        return True

    def triangles(self) -> tuple[np.ndarray, np.ndarray]:
        """Triangles (m, 3), and the row of the first ones each came from."""
        alive = [row for row, triangle in enumerate(self._rows) if triangle is not None]
        rows = np.array([self._rows[row] for row in alive], dtype=np.int64).reshape(-1, 3)
        return rows, np.array([self._source[row] for row in alive], dtype=np.int64)


def _matched(hole: np.ndarray, cloths: Sequence[_Cloth], outer: Split) -> bool:
    """Give the outer triangles along straight sides the pieces' points; then whether the hole's
    edges and the pieces' edges are the same."""
    edges = np.concatenate([cloth.edges for cloth in cloths])
    size = int(max(edges.max(), hole.max())) + 1
    mine, wanted = edges @ (size, 1), hole @ (size, 1)
    if len(np.unique(mine)) != len(mine):
        return False
    extra = np.setdiff1d(wanted, mine, assume_unique=False)
    filled = np.intersect1d(wanted, mine)
    chains = [chain for cloth in cloths for chain in cloth.chains()] if len(extra) else []
    laid = [filled]
    for code in extra.tolist():
        first, last = divmod(code, size)
        chain = next((found for c in chains if (found := _between(c, first, last))), None)
        if chain is None or not outer.split(chain[::-1]):
            return False
        laid.append(np.array([a * size + b for a, b in itertools.pairwise(chain)]))
    return bool(np.array_equal(np.sort(np.concatenate(laid)), np.sort(mine)))


def _between(chain: dict[int, int], first: int, last: int) -> list[int] | None:
    """The way from one point to the other along a side, both included."""
    found = [first]
    while found[-1] != last:
        after = chain.get(found[-1])
        if after is None or len(found) > len(chain) + 1:
            return None
        found.append(after)
    return found


Columns = tuple[np.ndarray, np.ndarray, np.ndarray]


def _columns(mesh: Readout, rows: np.ndarray) -> Columns:
    return mesh.mark[rows], mesh.face[rows], mesh.cut[rows]


def _packed(
    points: np.ndarray, triangles: Sequence[np.ndarray], columns: Sequence[Columns]
) -> Readout:
    """One mesh of all triangles, without points that none of them has."""
    rows = np.concatenate(triangles)
    mark, face, cut = (np.concatenate([c[k] for c in columns]) for k in range(3))
    used = np.zeros(len(points), dtype=bool)
    used[rows.ravel()] = True
    index = np.cumsum(used) - 1
    return Readout(points[used], index[rows], mark, face, cut)
