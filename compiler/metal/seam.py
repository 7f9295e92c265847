"""Sewing meshes into the hole that taken-out triangles leave, edge to edge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import spread
from ..measures.triangles import used
from .fans import Chains, fanned, joined, stops
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
    chains = _along(everywhere, hole, cloths)
    if chains is None:
        return None
    # The triangles outside the hole see its edges the other way round.
    found = fanned(out.triangles[kept], chains.turned())
    if found is None:
        return None
    outer, source = found
    return packed(
        everywhere,
        [outer, *(cloth.triangles for cloth in cloths)],
        [_columns(out, kept[source]), *(_columns(c.piece.mesh, c.source) for c in cloths)],
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
    found = nearest(piece.mesh.points[border], points[seam])
    index[border[found >= 0]] = seam[found[found >= 0]]
    return index


def nearest(mine: np.ndarray, theirs: np.ndarray) -> np.ndarray:
    """The row of ``theirs`` (m, d) nearest to each of ``mine`` (n, d) within WELD; -1 for none."""
    order = np.lexsort(theirs.T[::-1])
    low = np.searchsorted(theirs[order, 0], mine[:, 0] - WELD)
    high = np.searchsorted(theirs[order, 0], mine[:, 0] + WELD)
    found = np.full(len(mine), -1)
    for row in np.flatnonzero(high > low):
        near = order[low[row] : high[row]]
        gap = np.abs(theirs[near] - mine[row]).max(axis=1)
        best = int(np.argmin(gap))
        if gap[best] <= WELD:
            found[row] = near[best]
    return found


class _Cloth:
    """A piece in the numbers of the whole; its edges can be given points in between."""

    def __init__(self, piece: Laid, index: np.ndarray) -> None:
        self.piece = piece
        self.triangles = index[piece.mesh.triangles]
        self.source = np.arange(len(self.triangles))
        self.edges = index[piece.edges]
        self.sides = piece.sides

    def take_in(self, points: np.ndarray, spots: np.ndarray) -> np.ndarray:
        """Put those of the points ``spots`` that lie on straight sides on the edges there; returns
        the others."""
        rows: list[np.ndarray] = []
        inner: list[np.ndarray] = []
        for side in range(int(self.sides.max(initial=-1)) + 1):
            row, along = self._on_side(points, spots, side)
            order = np.lexsort((along, row))
            order = order[row[order] >= 0]
            rows.append(row[order])
            inner.append(spots[order])
            spots = spots[row < 0]
        row = np.concatenate(rows) if rows else np.zeros(0, dtype=np.int64)
        firsts = np.flatnonzero(np.diff(row, prepend=-1))
        sizes = np.diff(np.append(firsts, len(row)))
        edges = self.edges[row[firsts]]
        chains = joined(edges[:, 0], np.concatenate([*inner, spots[:0]]), sizes, edges[:, 1])
        found = fanned(self.triangles, chains)
        if found is None:
            return spots  # the hole and the edges will not match, and that is seen there
        self.triangles, source = found
        self.source = self.source[source]
        self.sides = np.concatenate([
            np.delete(self.sides, row[firsts]), np.repeat(self.sides[row[firsts]], sizes + 1),
        ])  # fmt: skip
        self.edges = np.concatenate([np.delete(self.edges, row[firsts], axis=0), chains.pairs()])
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

    def lines(self, points: np.ndarray) -> list[np.ndarray]:
        """The points of each straight side, in the order of its edges."""
        found = []
        for side in range(int(self.sides.max(initial=-1)) + 1):
            edges = self.edges[self.sides == side]
            if len(edges) == 0:
                continue
            start, stop = points[edges[:, 0]], points[edges[:, 1]]
            order = np.argsort(start @ (stop - start).sum(axis=0))
            found.append(np.append(edges[order, 0], edges[order[-1], 1]))
        return found


def _share_points(points: np.ndarray, hole: np.ndarray, cloths: Sequence[_Cloth]) -> None:
    """Give the pieces the points that the hole has along their straight sides."""
    known = np.unique(np.concatenate([cloth.edges for cloth in cloths]))
    missing = np.setdiff1d(np.unique(hole), known)
    for cloth in cloths:
        if len(missing):
            missing = cloth.take_in(points, missing)


def _along(points: np.ndarray, hole: np.ndarray, cloths: Sequence[_Cloth]) -> Chains | None:
    """For each edge of the hole that is not an edge of a piece, the way along a piece's side between
    its ends; None unless the hole's edges and the pieces' edges are then the same."""
    edges = np.concatenate([cloth.edges for cloth in cloths])
    size = len(points)
    mine, wanted = edges @ (size, 1), hole @ (size, 1)
    if len(np.unique(mine)) != len(mine):
        return None
    extra = np.setdiff1d(wanted, mine)
    first, last = np.divmod(extra, size)
    lines = [line for cloth in cloths for line in cloth.lines(points)]
    begin, count = np.full(len(extra), -1), np.zeros(len(extra), dtype=np.int64)
    place, offset = np.full(size, -1), 0
    for line in lines:  # a corner is on two sides, so each side looks for itself
        place[line] = np.arange(len(line))
        a, b = place[first], place[last]
        on = (a >= 0) & (b > a)
        begin[on], count[on] = offset + a[on], b[on] - a[on] + 1
        place[line] = -1
        offset += len(line)
    if (begin < 0).any():
        return None
    every = np.concatenate([*lines, np.zeros(0, dtype=np.int64)])
    chains = Chains(every[spread(count, begin)[1]], stops(count))
    laid = np.concatenate([np.intersect1d(wanted, mine), chains.pairs() @ (size, 1)])
    return chains if np.array_equal(np.sort(laid), np.sort(mine)) else None


Columns = tuple[np.ndarray, np.ndarray, np.ndarray]


def _columns(mesh: Readout, rows: np.ndarray) -> Columns:
    return mesh.mark[rows], mesh.face[rows], mesh.cut[rows]


def packed(
    points: np.ndarray, triangles: Sequence[np.ndarray], columns: Sequence[Columns]
) -> Readout:
    """One mesh of all triangles, without points that none of them has."""
    rows = np.concatenate(triangles)
    mark, face, cut = (np.concatenate([c[k] for c in columns]) for k in range(3))
    return Readout(*used(points, rows), mark, face, cut)
