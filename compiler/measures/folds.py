"""How the faces of a mesh meet: the angle of metal at every edge, and who is next to whom."""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from .kinds import Flags, Floats, Ints, cross, dot, least_by_row, length, spread


@dataclass(frozen=True, eq=False)
class Folds:
    """Every edge of a closed mesh, once.

    ends (k, 2) point numbers; one, two (k,) the triangles on it; angle (k,) degrees of metal
    between them: 180 flat, less is convex, more is a hollow. across (m, 3): the far corner of
    the neighbour over edge i (corner i to i+1) of each triangle, -1 at a leak.
    """

    ends: Ints
    one: Ints
    two: Ints
    angle: Floats
    across: Ints


def fold(points: Floats, triangles: Ints, normals: Floats) -> Folds:
    """Find the edges; an edge with one face only (a leak) is left out."""
    start, end = triangles.reshape(-1), np.roll(triangles, -1, axis=1).reshape(-1)
    code = np.minimum(start, end) * np.int64(len(points)) + np.maximum(start, end)
    order = np.lexsort((start > end, code))
    first = np.flatnonzero(code[order][:-1] == code[order][1:])
    if len(first):
        first = first[np.r_[True, np.diff(first) > 1]]
    here, there = order[first], order[first + 1] if len(first) else first
    one, two = here // 3, there // 3
    across = np.full(len(code), -1, dtype=np.int64)
    across[here], across[there] = _far(triangles, there), _far(triangles, here)
    ends = np.stack((start[here], end[here]), axis=1)
    over = points[across[here]] - points[ends[:, 0]]
    angle = _angle(normals[one], normals[two], over)
    return Folds(ends, one, two, angle, across.reshape(-1, 3))


def _far(triangles: Ints, half: Ints) -> Ints:
    """The corner opposite a half edge, numbered three to a triangle."""
    return np.asarray(triangles[half // 3, (half + 2) % 3], dtype=np.int64)


def _angle(one: Floats, two: Floats, over: Floats) -> Floats:
    """Angle of metal, degrees, from the two normals and a way into the second face."""
    turn = np.degrees(np.arctan2(length(cross(one, two)), dot(one, two)))
    return np.where(dot(one, over) > 0, 180.0 + turn, 180.0 - turn)


@dataclass(frozen=True, eq=False)
class Hollows:
    """Where a ball can rest on an inner edge or corner: which triangles have one, and the
    neighbours of each point as a ragged list."""

    beside: Flags
    starts: Ints
    around: Ints


@dataclass(frozen=True, eq=False)
class Fans:
    """The triangles round each point, as a ragged list."""

    starts: Ints
    faces: Ints


def fans(count: int, triangles: Ints) -> Fans:
    """List the triangles round each of `count` points."""
    flat = triangles.reshape(-1)
    order = np.argsort(flat, kind="stable")
    starts = np.r_[0, np.cumsum(np.bincount(flat, minlength=count))].astype(np.int64)
    return Fans(starts, order // 3)


def hollows(folds: Folds, count: int, triangles: Ints) -> Hollows:
    """Triangles with a corner on an edge hollow by more than a degree; points' neighbours."""
    deep = folds.ends[folds.angle > 181.0]
    touched = np.zeros(count, dtype=bool)
    touched[deep.reshape(-1)] = True
    a = np.r_[folds.ends[:, 0], folds.ends[:, 1]]
    b = np.r_[folds.ends[:, 1], folds.ends[:, 0]]
    order = np.argsort(a, kind="stable")
    starts = np.r_[0, np.cumsum(np.bincount(a, minlength=count))].astype(np.int64)
    return Hollows(np.asarray(touched[triangles].any(axis=1)), starts, b[order])


def rests(
    points: Floats, triangles: Ints, folds: Folds, hollow: Hollows, centre: Floats, face: Ints
) -> tuple[Floats, Flags]:
    """Closest point of the rim of each face to each centre, and whether a ball can rest there:
    no face next to that point comes nearer."""
    spot, edge, corner = _on_rim(centre, points[triangles[face]])
    go = centre - spot
    ok = np.ones(len(face), dtype=bool)
    side = np.flatnonzero(corner < 0)
    over = folds.across[face[side], edge[side]]
    ok[side] = (over >= 0) & _falls_back(go[side], points[over] - spot[side])
    tip = np.flatnonzero(corner >= 0)
    point = triangles[face[tip], corner[tip]]
    counts = hollow.starts[point + 1] - hollow.starts[point]
    rows, places = spread(counts, hollow.starts[point])
    back = _falls_back(go[tip][rows], points[hollow.around[places]] - points[point[rows]])
    rows, worst = least_by_row(rows, back.astype(float))
    ok[tip[rows]] = back[worst]
    return spot, ok


def _falls_back(go: Floats, side: Floats) -> Flags:
    """Does a way `side` along the skin lead no nearer to the centre that lies at `go`?"""
    return np.asarray(dot(go, side) <= 1e-6 * np.sqrt(dot(go, go) * dot(side, side)))


def _on_rim(point: Floats, corners: Floats) -> tuple[Floats, Ints, Ints]:
    """Closest rim point, the edge it is on, and the corner it is at (-1 for none)."""
    best = np.full(len(point), np.inf)
    spot = np.zeros_like(point)
    edge = np.zeros(len(point), dtype=np.int64)
    corner = np.full(len(point), -1, dtype=np.int64)
    for i in range(3):
        start, way = corners[:, i], corners[:, (i + 1) % 3] - corners[:, i]
        t = np.clip(dot(point - start, way) / np.maximum(dot(way, way), 1e-300), 0.0, 1.0)
        try_at = start + t[:, None] * way
        off = dot(point - try_at, point - try_at)
        better = off < best
        best[better], spot[better], edge[better] = off[better], try_at[better], i
        at = np.where(t <= 1e-9, i, np.where(t >= 1 - 1e-9, (i + 1) % 3, -1))
        corner[better] = at[better]
    return spot, edge, corner
