"""Metal as a browser draws it: triangles by line of work, with the normal at each corner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ...stdlib.alloys import find_alloy
from ..drawing.outline import LEVEL, smooth_edges
from ..drawing.scene import Body, Scene
from ..geometry.outlines import ROUGH
from ..measures.kinds import cross, unit
from ..measures.labels import groups
from ..metal.part import Part

_PLAIN = "#d9d7d0"  # for a metal no table names
FACET_EDGES = 8  # of a facet of a curve at most
_FINEST = 32767  # of a signed 16-bit figure


def metal_arrays(parts: Sequence[Part], tolerance: float) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What is told of the metal, and its arrays: ``points`` (n, 3) mm and ``normals`` (n, 2), folded onto
    an octahedron (see ``folded``); ``corners`` (m, 3) numbers of points. A spot on a sharp edge is there
    once for each side of it.

    Told: ``parts`` (metal, colour, casting, bought) and ``runs``: (part, feature, first triangle,
    count), the triangles of a part by the line of work they are of."""
    points, triangles, owner, body = [], [], [], []
    start = 0
    for number, part in enumerate(parts):
        order = np.argsort(part.owner, kind="stable")
        points.append(part.points)
        triangles.append(part.triangles[order].astype(np.int64) + start)
        owner.append(part.owner[order])
        body.append(np.full(len(order), number, dtype=np.int32))
        start += len(part.points)
    told: dict[str, Any] = {"parts": [_part(one) for one in parts], "runs": []}
    if not points:
        return told, {}
    spots, faces, owners, bodies = map(np.concatenate, (points, triangles, owner, body))
    scene = Scene(spots, faces, bodies, owners, tuple(Body(_PLAIN) for _ in parts), tolerance)
    told["runs"] = list(_runs(bodies, owners))
    return told, dict(zip(("points", "corners", "normals"), bent(scene), strict=True))


def _part(part: Part) -> dict[str, Any]:
    alloy = find_alloy(part.metal)
    return {
        "metal": alloy.name if alloy else part.metal,
        "colour": alloy.colour if alloy else _PLAIN,
        "casting": part.casting,
        "bought": part.bought,
    }


def _runs(body: np.ndarray, owner: np.ndarray) -> Iterator[tuple[int, int, int, int]]:
    fresh = np.flatnonzero((np.diff(body) != 0) | (np.diff(owner) != 0)) + 1
    starts = [0, *fresh.tolist()]
    for start, stop in zip(starts, [*starts[1:], len(body)], strict=True):
        yield int(body[start]), int(owner[start]), start, stop - start


def bent(scene: Scene, *, flat: bool = False) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (n, 3) float32, the corners (m, 3) of faces as their numbers, and the folded normal (n, 2) at
    each: the mean of the faces round the point that no sharp edge parts from it, each by the angle it
    takes there, so that how a curve was cut into triangles does not show (Thuermer and Wuethrich,
    Computing Vertex Normals from Polygonal Facets, 1998). ``flat`` bends only what lies in one plane."""
    ends, faces, normals = smooth_edges(scene)
    if flat:
        level = Curves(ends, faces, normals).cosine > LEVEL
        ends, faces = ends[level], faces[level]
    fan = groups(3 * len(scene.triangles), *_meeting(scene.triangles, ends, faces))
    first = np.zeros(int(fan.max()) + 1, dtype=np.int64)
    first[fan[::-1]] = np.arange(len(fan))[::-1]
    weighed = np.repeat(normals, 3, axis=0) * _angles(scene).reshape(-1, 1)
    total = np.stack([np.bincount(fan, row, minlength=len(first)) for row in weighed.T], axis=-1)
    size = np.linalg.norm(total, axis=1, keepdims=True)
    total = np.where(size > 1e-12, total / np.maximum(size, 1e-12), np.repeat(normals, 3, axis=0)[first])
    points = scene.points[scene.triangles.reshape(-1)[first]]
    if not flat and scene.tolerance < ROUGH:
        _curve(scene, Curves(ends, faces, normals), fan, points, total)
    return points.astype(np.float32), fan.reshape(-1, 3).astype(np.uint32), folded(total)


@dataclass(frozen=True, eq=False)
class Curves:
    """Edges over which a curve goes on: ``ends``, ``faces`` (e, 2); the ``normals`` (m, 3) of all faces."""

    ends: np.ndarray
    faces: np.ndarray
    normals: np.ndarray

    @cached_property
    def cosine(self) -> np.ndarray:
        """How far each edge turns, (e,)."""
        sides = self.normals[self.faces]
        return np.einsum("ij,ij->i", sides[:, 0], sides[:, 1])


def _curve(scene: Scene, curves: Curves, fan: np.ndarray, points: np.ndarray, bends: np.ndarray) -> None:
    """Bend the normals (n, 3) at points that lie within one flat facet of a curve, as it goes on evenly there
    too: a mean of those at the facet's edges, each by how near it is. ``fan`` is the point of each corner."""
    level = curves.cosine > LEVEL
    patch = groups(len(curves.normals), *curves.faces[level].T)
    corner, of = np.repeat(patch, 3), np.zeros(len(points), dtype=np.int64)
    of[fan] = corner
    lone = np.ones(len(points), dtype=bool)  # of one facet alone
    lone[fan[of[fan] != corner]] = False
    ends, faces = curves.ends[~level], curves.faces[~level]
    edge_of = patch[faces].T.reshape(-1)  # the facet on either side of each edge
    many = np.bincount(edge_of, minlength=len(patch))
    held = np.zeros(len(patch), dtype=bool)
    held[of[lone]] = True
    held &= (many > 1) & (many <= FACET_EDGES)
    own = np.column_stack([corner, fan])[held[corner]]
    count = many[own[:, 0]]
    order = np.argsort(edge_of, kind="stable")
    pair = np.repeat(np.arange(len(own)), count)
    begin = np.searchsorted(edge_of[order], own[:, 0]) - np.cumsum(count) + count
    edge = order[np.arange(len(pair)) + begin[pair]] % max(len(ends), 1)
    start, stop = scene.points[ends[edge]].transpose(1, 0, 2)
    off = np.linalg.norm(cross(points[own[pair, 1]] - start, stop - start), axis=1)
    off /= np.maximum(np.linalg.norm(stop - start, axis=1), 1e-12)
    turn = np.arccos(np.clip(curves.cosine[~level][edge], -1.0, 1.0))
    flat = np.zeros(len(patch), dtype=bool)  # wider than a facet of that curve
    flat[own[pair[off * turn / 8.0 > 2.0 * scene.tolerance], 0]] = True
    chosen = (~flat[own[:, 0]] & lone[own[:, 1]])[pair]
    weighed = curves.normals[faces[edge[chosen]]].sum(axis=1) / np.maximum(off[chosen], 1e-6)[:, None]
    at = own[pair[chosen], 1]
    total = np.stack([np.bincount(at, row, minlength=len(points)) for row in weighed.T], axis=-1)
    size = np.linalg.norm(total, axis=1)
    bends[size > 0] = total[size > 0] / size[size > 0, None]


def _meeting(triangles: np.ndarray, ends: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The corners (counted through all faces) that meet at both ends of edges, side by side."""
    found = []
    for side in (0, 1):
        mine = triangles[faces[:, side]]
        at = [(mine == ends[:, end : end + 1]).argmax(axis=1) for end in (0, 1)]
        found.append(np.concatenate([3 * faces[:, side] + one for one in at]))
    return found[0], found[1]


def _angles(scene: Scene) -> np.ndarray:
    """The angle (m, 3) at each corner of each face, radians."""
    corners = scene.points[scene.triangles]
    ahead = unit(np.roll(corners, -1, axis=1) - corners)
    cosine = -np.einsum("ijk,ijk->ij", ahead, np.roll(ahead, 1, axis=1))
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def folded(normals: np.ndarray) -> np.ndarray:
    """Unit vectors (..., 3) as two figures (..., 2) int16: laid onto an octahedron of side one, its
    lower half folded outward (Meyer and others, On Floating-Point Normal Vectors, 2010)."""
    flat = normals / np.maximum(np.abs(normals).sum(axis=-1, keepdims=True), 1e-12)
    x, y, z = np.moveaxis(flat, -1, 0)
    one, two = (np.where(value >= 0, 1.0, -1.0) for value in (x, y))
    over_x = np.where(z < 0, (1 - np.abs(y)) * one, x)
    over_y = np.where(z < 0, (1 - np.abs(x)) * two, y)
    return np.round(np.stack([over_x, over_y], axis=-1) * _FINEST).astype(np.int16)
