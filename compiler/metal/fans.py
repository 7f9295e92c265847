"""Triangles whose edges are given points in between: each becomes a fan, many at a time."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import spread


@dataclass(frozen=True, eq=False)
class Chains:
    """Ways along an edge, each from its first to its last point: chain i is ``points`` (n,) from
    ``starts[i]`` to ``starts[i + 1]``."""

    points: np.ndarray
    starts: np.ndarray

    def __len__(self) -> int:
        return len(self.starts) - 1

    @property
    def firsts(self) -> np.ndarray:
        """The first point of each."""
        return np.asarray(self.points[self.starts[:-1]])

    @property
    def lasts(self) -> np.ndarray:
        """The last point of each."""
        return np.asarray(self.points[self.starts[1:] - 1])

    @property
    def sizes(self) -> np.ndarray:
        """Points of each, both ends included."""
        return np.diff(self.starts)

    def part(self, chosen: np.ndarray) -> Chains:
        """Chains of those indices."""
        sizes = self.sizes[chosen]
        return Chains(self.points[spread(sizes, self.starts[:-1][chosen])[1]], stops(sizes))

    def turned(self) -> Chains:
        """Each walked the other way."""
        back = np.repeat(self.starts[:-1] + self.starts[1:] - 1, self.sizes)
        return Chains(self.points[back - np.arange(len(self.points))], self.starts)

    def pairs(self) -> np.ndarray:
        """All steps (m, 2) from one point to the next."""
        inner = np.ones(len(self.points), dtype=bool)
        inner[self.starts[1:] - 1] = False
        index = np.flatnonzero(inner)
        return np.stack([self.points[index], self.points[index + 1]], axis=1)

    def listed(self) -> list[list[int]]:
        """Each as a list."""
        return [self.points[a:b].tolist() for a, b in itertools.pairwise(self.starts.tolist())]


def stops(sizes: np.ndarray) -> np.ndarray:
    """Where spans of these sizes begin, and where the last ends."""
    return np.concatenate([[0], np.cumsum(sizes)])


def joined(first: np.ndarray, inner: np.ndarray, sizes: np.ndarray, last: np.ndarray) -> Chains:
    """Chains of first point, ``sizes`` of the ``inner`` points, last point."""
    starts = stops(sizes + 2)
    points = np.empty(starts[-1], dtype=np.int64)
    points[starts[:-1]], points[starts[1:] - 1] = first, last
    points[spread(sizes, starts[:-1] + 1)[1]] = inner
    return Chains(points, starts)


def fanned(triangles: np.ndarray, chains: Chains) -> tuple[np.ndarray, np.ndarray] | None:
    """The triangles (m, 3) with every chain in the place of the edge between its ends, and the row
    of the triangle each came from; None when a chain's edge is not there."""
    if len(chains) == 0:
        return triangles, np.arange(len(triangles))
    row, corner = _owners(triangles, chains)
    if (row < 0).any():
        return None
    count = np.bincount(row, minlength=len(triangles))
    once = count[row] == 1
    easy = chains.part(np.flatnonzero(once))
    pairs, steps = easy.pairs(), easy.sizes - 1
    apex = triangles[row[once], (corner[once] + 2) % 3]
    fans = np.column_stack([pairs, np.repeat(apex, steps)])
    several = np.flatnonzero(count > 1)
    split = Split(triangles[several])
    for chain in chains.part(np.flatnonzero(~once)).listed():
        if not split.split(chain):
            return None
    rest, source = split.triangles()
    whole = np.flatnonzero(count == 0)
    return (
        np.concatenate([triangles[whole], fans, rest]),
        np.concatenate([whole, np.repeat(row[once], steps), several[source]]),
    )


def _owners(triangles: np.ndarray, chains: Chains) -> tuple[np.ndarray, np.ndarray]:
    """For each chain the triangle with its edge (-1: none), and the edge's first corner there."""
    size = int(max(triangles.max(initial=0), chains.points.max(initial=0))) + 1
    wanted = chains.firsts * size + chains.lasts
    order = np.argsort(wanted)
    near = np.zeros(size, dtype=bool)
    near[chains.firsts] = True
    row, corner = np.full(len(chains), -1), np.zeros(len(chains), dtype=np.int64)
    for k in range(3):
        index = np.flatnonzero(near[triangles[:, k]])
        code = triangles[index, k] * size + triangles[index, (k + 1) % 3]
        place = np.minimum(np.searchsorted(wanted[order], code), len(order) - 1)
        hit = wanted[order][place] == code
        row[order[place[hit]]], corner[order[place[hit]]] = index[hit], k
    return row, corner


class Split:
    """Triangles whose edges can be given points one after another; knows which one each came from."""

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

    def split(self, chain: Sequence[int]) -> bool:
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
