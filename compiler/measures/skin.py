"""The skin of a piece: a closed triangle mesh that knows the feature of each triangle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from .folds import Fans, Folds, fans, fold
from .grid import Grid
from .kinds import Flags, Floats, Ints, Solid, cross, dot, length, spread, unit
from .triangles import crosses, used, volume

SMOOTH = 35.0
"""Faces that turn less than this (degrees) are taken for facets of one curved surface."""
SLIVER = 1e-4
"""Triangles lower than this (mm) are not trusted as walls: rounding can turn them."""


@dataclass(frozen=True, eq=False)
class Skin:
    """A closed mesh, faces outward: points (n, 3) mm, triangles (m, 3), owner (m,) features."""

    points: Floats
    triangles: Ints
    owner: Ints

    @cached_property
    def corners(self) -> Floats:
        """Corner positions of each triangle, (m, 3, 3) mm."""
        return np.ascontiguousarray(self.points[self.triangles])

    @cached_property
    def _areas_out(self) -> Floats:
        return crosses(self.corners)

    @cached_property
    def areas(self) -> Floats:
        """Area of each triangle, (m,) mm2."""
        return 0.5 * length(self._areas_out)

    @cached_property
    def normals(self) -> Floats:
        """Outward unit normal of each triangle, (m, 3); zero for a triangle without area."""
        double = 2.0 * self.areas
        return np.asarray(self._areas_out / np.where(double > 0, double, 1.0)[:, None])

    @cached_property
    def sound(self) -> Flags:
        """Triangles high enough (`SLIVER`) for their normal to mean something, (m,)."""
        v = self.corners
        longest = np.zeros(len(v))
        for i in range(3):
            side = v[:, i] - v[:, i - 1]
            np.maximum(longest, dot(side, side), out=longest)
        return np.asarray(4.0 * self.areas**2 > SLIVER**2 * longest)

    @cached_property
    def box(self) -> tuple[Floats, Floats]:
        """Lowest and highest corner of the box round the skin, mm."""
        if not len(self.triangles):
            return np.zeros(3), np.zeros(3)
        columns = [self.corners[:, :, axis] for axis in range(3)]
        return np.array([c.min() for c in columns]), np.array([c.max() for c in columns])

    @cached_property
    def size(self) -> float:
        """Diagonal of the box, mm."""
        low, high = self.box
        return float(np.linalg.norm(high - low))

    @cached_property
    def volume(self) -> float:
        """Enclosed volume, mm3 (exact for the mesh, by the divergence theorem)."""
        return volume(self.points, self.triangles)

    @cached_property
    def cones(self) -> tuple[Floats, Floats]:
        """Of the cone from the lowest corner of the box to each triangle: signed volume (m,) mm3
        and first moment (3, m) about that corner, mm4. Exact integrals (divergence theorem)."""
        low = self.box[0]
        a, b, c = ([self.corners[:, i, axis] - low[axis] for axis in range(3)] for i in range(3))
        volume = a[0] * (b[1] * c[2] - b[2] * c[1])
        volume += a[1] * (b[2] * c[0] - b[0] * c[2])
        volume += a[2] * (b[0] * c[1] - b[1] * c[0])
        volume /= 6.0
        moment = np.array([volume * (a[k] + b[k] + c[k]) / 4.0 for k in range(3)])
        return volume, moment

    @cached_property
    def grid(self) -> Grid:
        """Cells over the triangles, built once, shared by all the measures of this skin."""
        return Grid(self.corners, self.normals)

    @cached_property
    def folds(self) -> Folds:
        """The edges of the skin and the angle of metal at each."""
        return fold(self.points, self.triangles, self.normals)

    @cached_property
    def sides(self) -> Ints:
        """Every edge once, (k, 2) points."""
        one, two = self.triangles, np.roll(self.triangles, -1, axis=1)
        once = one < two  # the face beyond has it the other way round
        return np.stack((one[once], two[once]), axis=1)

    @cached_property
    def hollows(self) -> Flags:
        """Triangles with a corner on an edge hollow by more than a degree, (m,): there a ball can rest."""
        touched = np.zeros(len(self.points), dtype=bool)
        touched[self.folds.ends[self.folds.angle > 181.0]] = True
        one, two, three = self.triangles.T
        return np.asarray(touched[one] | touched[two] | touched[three])

    @cached_property
    def fans(self) -> Fans:
        """The triangles round each point."""
        return fans(len(self.points), self.triangles)

    def outward(self, at: Floats, face: Ints) -> Floats:
        """Outward unit directions (k, 3) of the smooth surface that the facets stand for, at
        points `at` (k, 3) on faces (k,): blended across edges that turn less than `SMOOTH`."""
        names, place = np.unique(face, return_inverse=True)
        corner = np.arange(3 * len(names), dtype=np.int64)
        point = self.triangles[names].reshape(-1)
        starts, ends = self.fans.starts[point], self.fans.starts[point + 1]
        row, spot = spread(ends - starts, starts)
        beside = self.fans.faces[spot]
        own = self.normals[names][corner // 3][row]
        near = dot(self.normals[beside], own) > np.cos(np.radians(SMOOTH))
        near &= self.sound[beside]
        blend = np.zeros((3 * len(names), 3))
        normals = self.normals[beside] * self._spans(beside, point[row])[:, None]
        for axis in range(3):
            blend[:, axis] = np.bincount(row[near], normals[near, axis], 3 * len(names))
        weights = _weights(at, self.corners[face])
        mixed = np.einsum("kc,kcj->kj", weights, unit(blend.reshape(-1, 3, 3))[place.reshape(-1)])
        return np.where(length(mixed)[:, None] > 0.5, unit(mixed), self.normals[face])

    def _spans(self, face: Ints, point: Ints) -> Floats:
        """The angle of each face at one of its points, radians."""
        corner = np.argmax(self.triangles[face] == point[:, None], axis=1)
        v = self.corners[face]
        lines = np.arange(len(face))
        start = v[lines, corner]
        one, two = v[lines, (corner + 1) % 3] - start, v[lines, (corner + 2) % 3] - start
        return np.arctan2(length(cross(one, two)), dot(one, two))

    def inside_out(self) -> Skin:
        """The same surface seen from the air: what was wall becomes gap and the reverse."""
        return _Air(self)

    def in_view(self, keep: Flags) -> Skin:
        """The same skin, of which only the faces ``keep`` (m,) are looked at from."""
        return _InView(self, keep)

    def part(self, keep: Flags | Ints) -> Skin:
        """Only some of the triangles with their points; no longer closed unless whole shells are kept."""
        return Skin(*used(self.points, self.triangles[keep]), self.owner[keep])


def _of_first(name: str) -> Any:
    """What a second skin takes from the first when it is asked for it."""
    return property(lambda skin: getattr(skin.first, name), doc=getattr(Skin, name).__doc__)


class _Second(Skin):
    """A skin that takes from a `first` one what both have alike."""

    first: Skin

    def __init__(self, first: Skin, triangles: Ints) -> None:
        super().__init__(first.points, triangles, first.owner)
        self.__dict__["first"] = first

    areas, box, fans = map(_of_first, ("areas", "box", "fans"))


class _Air(_Second):
    """A skin turned inside out."""

    def __init__(self, first: Skin) -> None:
        super().__init__(first, np.ascontiguousarray(first.triangles[:, ::-1]))

    sound = _of_first("sound")

    @cached_property
    def corners(self) -> Floats:
        """Corners the other way round."""
        return self.first.corners[:, ::-1]

    @cached_property
    def normals(self) -> Floats:
        """Normals into the metal."""
        return -self.first.normals

    @cached_property
    def grid(self) -> Grid:
        """The cells of the other skin."""
        return self.first.grid.turned(self.corners, self.normals)

    @cached_property
    def folds(self) -> Folds:
        """The same edges; what was metal is air."""
        folds = self.first.folds
        return Folds(folds.ends, folds.one, folds.two, 360.0 - folds.angle, folds.code, folds.count)


class _InView(_Second):
    """A skin looked at from some of its faces only."""

    def __init__(self, first: Skin, keep: Flags) -> None:
        super().__init__(first, first.triangles)
        self.__dict__["sound"] = first.sound & keep

    corners, normals, grid, folds, hollows = map(
        _of_first, ("corners", "normals", "grid", "folds", "hollows")
    )


def side_by_side(skins: Sequence[Skin]) -> Skin:
    """Several skins as one."""
    if len(skins) == 1:
        return skins[0]
    starts = np.cumsum([0, *(len(skin.points) for skin in skins)])
    return Skin(
        np.concatenate([skin.points for skin in skins]),
        np.concatenate([skin.triangles + n for skin, n in zip(skins, starts, strict=False)]),
        np.concatenate([skin.owner for skin in skins]),
    )


def from_manifold(solid: Solid, owners: Mapping[int, int] | None = None) -> Skin:
    """Skin of a kernel solid.

    `owners` maps the kernel's original ids to feature indices; ids it lacks become -1. Without it the
    features are numbered 0, 1, ... in the order of their ids."""
    mesh = solid.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.array(mesh.tri_verts, dtype=np.int64).reshape(-1, 3)
    merged = np.arange(len(points), dtype=np.int64)
    if len(mesh.merge_from_vert):
        merged[np.array(mesh.merge_from_vert, dtype=np.int64)] = np.array(mesh.merge_to_vert, dtype=np.int64)
    return Skin(points, merged[triangles], _owner_of(mesh, len(triangles), owners))


def _weights(at: Floats, corners: Floats) -> Floats:
    """Barycentric weights (k, 3) of points on triangles."""
    one, two, go = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0], at - corners[:, 0]
    out = cross(one, two)
    size = np.maximum(dot(out, out), 1e-300)
    v, w = dot(cross(go, two), out) / size, dot(cross(one, go), out) / size
    weights = np.clip(np.stack((1 - v - w, v, w), axis=1), 0.0, 1.0)
    return np.asarray(weights / np.maximum(weights.sum(axis=1), 1e-300)[:, None])


def _owner_of(mesh: Any, count: int, owners: Mapping[int, int] | None) -> Ints:
    """Feature index of each triangle, from the runs of a kernel mesh."""
    ids = np.array(mesh.run_original_id, dtype=np.int64)
    ends = np.array(mesh.run_index, dtype=np.int64) // 3
    if not len(ids):
        return np.zeros(count, dtype=np.int64)
    spans = np.diff(ends)
    if owners is None:
        used = np.unique(ids[spans > 0])
        owners = {int(number): place for place, number in enumerate(used)}
    features = np.array([owners.get(int(number), -1) for number in ids], dtype=np.int64)
    return np.repeat(features, spans)
