"""How the faces of a mesh meet: the angle of metal at every edge, and who is next to whom."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .closest import on_rim
from .kinds import Flags, Floats, Ints, dot, least_by_row, spread


@dataclass(frozen=True, eq=False)
class Folds:
    """Every edge of a closed mesh, once.

    ends (k, 2) point numbers; one, two (k,) the triangles on it; angle (k,) degrees of metal between them:
    180 flat, less is convex, more is a hollow; code (k,) one number for each pair of ends, in rising order,
    `count` points in all."""

    ends: Ints
    one: Ints
    two: Ints
    angle: Floats
    code: Ints
    count: int

    def beyond(self, triangles: Ints, face: Ints, edge: Ints) -> Ints:
        """The far corner of the neighbour of each face over its edge i (corner i to i + 1), -1 at a leak."""
        if not len(self.code):
            return np.full(len(face), -1, dtype=np.int64)
        start, end = triangles[face, edge], triangles[face, (edge + 1) % 3]
        code = _code(start, end, self.count)
        fold = np.minimum(np.searchsorted(self.code, code), len(self.code) - 1)
        other = self.one[fold] + self.two[fold] - face
        known = (self.code[fold] == code) & ((self.one[fold] == face) | (self.two[fold] == face))
        other = np.where(known, other, face)
        return np.where(known, triangles[other].sum(axis=1) - start - end, -1)


def _code(start: Ints, end: Ints, count: int) -> Ints:
    """One number for each pair of points, whichever is first."""
    return np.asarray(np.minimum(start, end) * np.int64(count) + np.maximum(start, end))


def fold(points: Floats, triangles: Ints, normals: Floats) -> Folds:
    """Find the edges; an edge with one face only (a leak) is left out."""
    triangles = np.asarray(triangles, dtype=np.int64)
    start, end = triangles.reshape(-1), triangles[:, (1, 2, 0)].reshape(-1)
    order, code = _in_order(_code(start, end, len(points)), start > end)
    first = np.flatnonzero(code[:-1] == code[1:])
    if len(first):
        first = first[np.r_[True, np.diff(first) > 1]]
    here, there = order[first], order[first + 1] if len(first) else first
    one, two = here // 3, there // 3
    ends = np.stack((start[here], end[here]), axis=1)
    far = triangles[:, (2, 0, 1)].reshape(-1)[there]
    angle = _angle(normals[one], normals[two], points[far] - points[ends[:, 0]])
    return Folds(ends, one, two, angle, code[first], len(points))


def _in_order(code: Ints, last: Flags) -> tuple[Ints, Ints]:
    """Order of half edges by code, `last` ones after their like, then by number; sorted codes."""
    bits = len(code).bit_length() + 1
    if len(code) and int(code.max()).bit_length() + bits > 62:
        order = np.lexsort((last, code))
        return order, code[order]
    both = np.sort(code << bits | last.astype(np.int64) << (bits - 1) | np.arange(len(code)))
    return both & ((1 << (bits - 1)) - 1), both >> bits


def _angle(one: Floats, two: Floats, over: Floats) -> Floats:
    """Angle of metal, degrees, from the two normals and a way into the second face."""
    # To a millionth of a degree, which is finer than any use of it.
    turn = np.degrees(np.arccos(np.clip(dot(one, two), -1.0, 1.0)))
    return np.where(dot(one, over) > 0, 180.0 + turn, 180.0 - turn)


@dataclass(frozen=True, eq=False)
class Fans:
    """The triangles round each point, as a ragged list."""

    starts: Ints
    faces: Ints


def fans(count: int, triangles: Ints) -> Fans:
    """List the triangles round each of `count` points."""
    flat = np.asarray(triangles, dtype=np.int64).reshape(-1)
    order, _ = _in_order(flat, np.zeros(len(flat), dtype=bool))
    starts = np.r_[0, np.cumsum(np.bincount(flat, minlength=count))].astype(np.int64)
    return Fans(starts, order // 3)


def rests(
    points: Floats, triangles: Ints, folds: Folds, fan: Fans, centre: Floats, face: Ints
) -> tuple[Floats, Flags]:
    """Closest point of each face's rim to each centre, and whether a ball rests there: none beside is
    nearer."""
    spot, edge, share = on_rim(centre, points[triangles[face]])
    corner = np.where(share <= 1e-9, edge, np.where(share >= 1 - 1e-9, (edge + 1) % 3, -1))  # -1: at none
    go = centre - spot
    ok = np.ones(len(face), dtype=bool)
    side = np.flatnonzero(corner < 0)
    over = folds.beyond(triangles, face[side], edge[side])
    ok[side] = (over >= 0) & _falls_back(go[side], points[over] - spot[side])
    tip = np.flatnonzero(corner >= 0)
    point = triangles[face[tip], corner[tip]]
    rows, places = spread(fan.starts[point + 1] - fan.starts[point], fan.starts[point])
    around = triangles[fan.faces[places]].reshape(-1)  # each twice, and the point itself
    rows = np.repeat(rows, 3)
    back = _falls_back(go[tip][rows], points[around] - points[point[rows]])
    rows, worst = least_by_row(rows, back.astype(float))
    ok[tip[rows]] = back[worst]
    return spot, ok


def _falls_back(go: Floats, side: Floats) -> Flags:
    """Does a way `side` along the skin lead no nearer to the centre that lies at `go`?"""
    return np.asarray(dot(go, side) <= 1e-6 * np.sqrt(dot(go, go) * dot(side, side)))
