"""A mesh cut along parallel planes, and what is flat between them laid anew with fewest triangles.

Metal is bent as a folded sheet would be: straight between creases that lie a chord apart. A face that is flat
before is then flat between two creases too, however thin its triangles are."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..measures.kinds import cross
from .kernel import Readout

ON_PLANE = 1e-6  # mm; a point nearer to a plane than this lies on it
FLAT = 1e-6  # mm; a face is flat, and a line straight, if no point is farther off than this


def cut_along(
    points: np.ndarray, triangles: np.ndarray, way: np.ndarray, planes: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A mesh cut where ``way`` (3,) times a point is one of ``planes`` (k,), rising.

    Gives points (the old ones first), triangles, which old triangle each is part of, and between which planes
    it lies (0: before the first)."""
    along = points @ way
    low = np.searchsorted(planes, along - ON_PLANE)
    high = np.searchsorted(planes, along + ON_PLANE, side="right")
    order = np.argsort(along[triangles], axis=1, kind="stable")
    odd = np.isin(order @ (9, 3, 1), (7, 11, 21))  # 0 2 1, 1 0 2 and 2 1 0
    first, middle, last = np.take_along_axis(triangles, order, axis=1).T
    edges = _Edges(points, along, low, high, planes)
    whole = edges.of(first, last)
    halves = edges.of(first, middle), edges.of(middle, last)
    cuts = np.maximum(low[last] - high[first], 0)
    parent = np.repeat(np.arange(len(triangles)), cuts + 1)
    number = np.arange(len(parent)) - np.repeat(np.cumsum(cuts + 1) - cuts - 1, cuts + 1)
    slab = high[first][parent] + number

    def spots(plane: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Where each triangle's long edge, and its two others, meet a plane."""
        f, m = first[parent], middle[parent]
        left = edges.at(halves[0][parent], f, plane)
        right = edges.at(halves[1][parent], m, plane)
        side = np.where(plane < low[m], left, np.where(plane >= high[m], right, m))
        return edges.at(whole[parent], f, plane), side

    start, start_side = spots(slab - 1)
    stop, stop_side = spots(slab)
    tip, end = number == 0, number == cuts[parent]
    start, start_side = (np.where(tip, first[parent], s) for s in (start, start_side))
    stop, stop_side = (np.where(end, last[parent], s) for s in (stop, stop_side))
    own = np.clip(low[middle] - high[first], 0, cuts)[parent] == number
    corner = np.where(own, middle[parent], stop_side)
    fans = np.stack(
        [
            np.stack([start, stop, stop_side], axis=1),
            np.stack([start, stop_side, corner], axis=1),
            np.stack([start, corner, start_side], axis=1),
        ],
        axis=1,
    )
    fans = np.where(odd[parent][:, None, None], fans, fans[:, :, ::-1])
    pieces = fans.reshape(-1, 3)
    real = (pieces != np.roll(pieces, 1, axis=1)).all(axis=1)
    return edges.points(), pieces[real], np.repeat(parent, 3)[real], np.repeat(slab, 3)[real]


class _Edges:
    """The new points of edges, each made once whichever triangle asks."""

    def __init__(
        self, points: np.ndarray, along: np.ndarray, low: np.ndarray, high: np.ndarray, planes: np.ndarray
    ) -> None:
        self._old, self._along, self._planes = points, along, planes
        self._low, self._high = low, high
        self._asked: list[np.ndarray] = []
        self._codes: np.ndarray | None = None
        self._first = np.zeros(0, dtype=np.int64)

    def of(self, a: np.ndarray, b: np.ndarray) -> np.ndarray:
        """The codes of edges, the same both ways."""
        codes = np.minimum(a, b) * len(self._old) + np.maximum(a, b)
        self._asked.append(codes)
        return np.asarray(codes)

    def _made(self) -> np.ndarray:
        if self._codes is None:
            self._codes = np.unique(np.concatenate(self._asked))
            lower, upper = self._ends()
            count = np.maximum(self._low[upper] - self._high[lower], 0)
            self._count, self._lower, self._upper = count, lower, upper
            self._first = len(self._old) + np.cumsum(count) - count
        return self._codes

    def _ends(self) -> tuple[np.ndarray, np.ndarray]:
        assert self._codes is not None
        a, b = self._codes // len(self._old), self._codes % len(self._old)
        swap = self._along[a] > self._along[b]
        return np.where(swap, b, a), np.where(swap, a, b)

    def at(self, codes: np.ndarray, lower: np.ndarray, plane: np.ndarray) -> np.ndarray:
        """The new points of edges that begin at ``lower`` where they meet plane number ``plane``;
        nonsense where they do not meet it."""
        place = np.searchsorted(self._made(), codes)
        return np.asarray(self._first[place] + plane - self._high[lower])

    def points(self) -> np.ndarray:
        """All points, the new ones after the old."""
        self._made()
        edge = np.repeat(np.arange(len(self._count)), self._count)
        own = np.arange(len(edge)) - np.repeat(np.cumsum(self._count) - self._count, self._count)
        lower, upper = self._lower[edge], self._upper[edge]
        plane = self._planes[self._high[lower] + own]
        share = (plane - self._along[lower]) / (self._along[upper] - self._along[lower])
        new = self._old[lower] + share[:, None] * (self._old[upper] - self._old[lower])
        return np.concatenate([self._old, new])


def flat_faces(out: Readout) -> np.ndarray:
    """A number for each triangle (m,): the same for those of one flat face of one source."""
    keys = np.stack([out.mark, out.face, out.cut.astype(np.int64)], axis=1)
    _, group = np.unique(keys, axis=0, return_inverse=True)
    group = group.reshape(-1)
    corners = out.points[out.triangles]
    normal = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    order = np.lexsort([-size, group])
    largest = order[np.r_[True, group[order][1:] != group[order][:-1]]][group]
    unit = normal[largest] / np.maximum(size[largest], 1e-300)[:, None]
    off = np.abs(((corners - corners[largest, :1]) * unit[:, None]).sum(axis=2)).max(axis=1)
    bowed = np.zeros(group.max(initial=0) + 1, dtype=bool)
    bowed[group[off > FLAT]] = True
    return np.where(bowed[group], len(bowed) + np.arange(len(group)), group)


def closed(triangles: np.ndarray) -> bool:
    """Whether every edge of a mesh is shared by two triangles that face alike."""
    return _twins(triangles) is not None


def _twins(triangles: np.ndarray) -> np.ndarray | None:
    """Directed edges (counted corner by corner) in pairs (k, 2), one each way; None where the mesh
    is not closed."""
    source, target = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    codes = np.minimum(source, target) * (source.max(initial=0) + 1) + np.maximum(source, target)
    order = np.argsort(codes, kind="stable")
    if len(order) % 2 or len(order) == 0:
        return None
    pairs = order.reshape(-1, 2)
    sides = codes[pairs]
    single = (sides[:, 0] == sides[:, 1]).all() and (sides[1:, 0] != sides[:-1, 0]).all()
    return pairs if single and (source[pairs[:, 0]] != source[pairs[:, 1]]).all() else None


def laid_anew(points: np.ndarray, triangles: np.ndarray, region: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Triangles with every ``region`` (m,) of one flat surface laid anew from its outline, and for each the
    old triangle whose region it is in.

    Points that lie on straight edges between two regions are left out; so are slivers that are nothing but
    such points. Unchanged where the mesh is not closed."""
    same = triangles, np.arange(len(triangles))
    rims = _Rims.of(points, triangles, region)
    if rims is None:
        return same
    chosen, loops = rims.loops(points)
    if not chosen.any():
        return same
    kept = np.flatnonzero(~chosen[region])
    if not loops:
        return triangles[kept], kept
    new, owner = _triangulated(*_side_by_side(points, triangles, region, loops))
    return np.concatenate([triangles[kept], new]), np.concatenate([kept, owner])


class _Rims:
    """The directed edges that bound regions: ``source`` to ``target``, ``region`` to their left,
    ``after`` the next of each."""

    def __init__(self, source: np.ndarray, target: np.ndarray, region: np.ndarray, count: int) -> None:
        self.source, self.target, self.region, self.count = source, target, region, count
        codes = region * count + source
        order = np.argsort(codes, kind="stable")
        twice = order[1:][codes[order][1:] == codes[order][:-1]]
        self.pinched = np.unique(region[twice])  # regions that touch themselves
        self.after = order[np.searchsorted(codes[order], region * count + target)]
        self._inside: np.ndarray = np.zeros(0, dtype=np.int64)

    @classmethod
    def of(cls, points: np.ndarray, triangles: np.ndarray, region: np.ndarray) -> _Rims | None:
        """The rims of the regions of a closed mesh; None of any other."""
        pairs = _twins(triangles)
        if pairs is None:
            return None
        source, target = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
        own = np.repeat(region, 3)
        bound = pairs[own[pairs[:, 0]] != own[pairs[:, 1]]].ravel()
        rims = cls(source[bound], target[bound], own[bound], len(points))
        free = np.ones(len(points), dtype=bool)
        free[rims.source] = False
        rims._inside = np.unique(own[free[source]])
        return rims

    def loops(self, points: np.ndarray) -> tuple[np.ndarray, list[tuple[int, list[int]]]]:
        """Which regions have points to spare, (regions,), and the outlines of those: region and points."""
        gone = self._needless(points)
        chosen = np.zeros(int(self.region.max()) + 1, dtype=bool)
        chosen[self.region[gone[self.source]]] = True
        chosen[self._inside] = True
        chosen[self.pinched] = False
        step = np.where(gone[self.source], self.after, np.arange(len(self.after)))
        while True:
            farther = step[step]
            if (farther == step).all():
                break
            step = farther
        following = step[self.after].tolist()
        begin = np.flatnonzero(chosen[self.region] & ~gone[self.source])
        seen = np.ones(len(self.after), dtype=bool)
        seen[begin] = False
        source, region, done = self.source.tolist(), self.region.tolist(), seen.tolist()
        found = []
        for at in begin.tolist():
            if done[at]:
                continue
            loop = []
            here = at
            while not done[here]:
                done[here] = True
                loop.append(source[here])
                here = following[here]
            if len(loop) > 2:
                found.append((region[at], loop))
        return chosen, found

    def _needless(self, points: np.ndarray) -> np.ndarray:
        """Points (n,) in the middle of a straight edge between two regions."""
        before, at, beyond = self.source, self.target, self.target[self.after]
        a, b = points[at] - points[before], points[beyond] - points[at]
        whole = np.maximum(np.linalg.norm(a + b, axis=1), 1e-300)
        off = np.linalg.norm(cross(a, b), axis=1) / whole
        bent = at[(off > FLAT) | ((a * b).sum(axis=1) <= 0)]
        gone = np.bincount(self.source, minlength=self.count) == 2
        gone[bent] = False
        if len(self.pinched):
            gone[self.source[np.isin(self.region, self.pinched)]] = False
        return gone


def _side_by_side(
    points: np.ndarray, triangles: np.ndarray, region: np.ndarray, loops: Sequence[tuple[int, list[int]]]
) -> tuple[list[np.ndarray], np.ndarray, np.ndarray]:
    """The outlines laid flat beside each other: (k, 2) each, their points, and for each point a
    triangle of its region."""
    corners = points[triangles]
    normal = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    order = np.lexsort([-np.abs(normal).max(axis=1), region])
    largest = order[np.r_[True, region[order][1:] != region[order][:-1]]]
    of = np.zeros(int(region.max()) + 1, dtype=np.int64)
    of[region[largest]] = largest
    lengths = np.array([len(loop) for _, loop in loops])
    owner = np.repeat(of[[number for number, _ in loops]], lengths)
    spots = np.concatenate([loop for _, loop in loops])
    facing = normal[owner]
    axis = np.abs(facing).argmax(axis=1)
    rows = np.arange(len(spots))
    right = points[spots, (axis + 1) % 3] * np.sign(facing[rows, axis])
    flat = np.stack([right, points[spots, (axis + 2) % 3]], axis=1)
    low, wide = np.full(len(triangles), np.inf), np.full(len(triangles), -np.inf)
    np.minimum.at(low, owner, right)
    np.maximum.at(wide, owner, right)
    held = np.unique(owner)
    room = wide[held] - low[held] + 1.0
    place = np.zeros(len(triangles))
    place[held] = np.cumsum(room) - room - low[held]
    flat[:, 0] += place[owner]
    return np.split(flat, np.cumsum(lengths)[:-1]), spots, owner


def _triangulated(
    polygons: list[np.ndarray], spots: np.ndarray, owner: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    from manifold3d import triangulate

    new = np.asarray(triangulate(polygons), dtype=np.int64).reshape(-1, 3)
    return spots[new], owner[new[:, 0]]
