"""Fine work, that no prop may touch: stones' seats, grains, milgrain and letters.

A stub is filed away where a tip breaks off, and such work with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..making.result import FeatureInfo
from ..measures.kinds import Flags, Floats, Ints, frame_of, length
from ..measures.skin import Skin
from ..metal.part import Part

if TYPE_CHECKING:
    from manifold3d import Manifold

ALWAYS = frozenset({Role.SEAT, Role.BEADED_EDGE, Role.ENGRAVING})
NEAR = 0.1  # mm that a face may lie from where its cell begins


def fine_faces(part: Part, features: Sequence[FeatureInfo], ball: float) -> Flags:
    """Faces (m,) of a part that are fine work. Of a setting in grains these are the grains, not the metal
    they rise from; a ball is, up to ``ball`` mm wide."""
    fine = np.zeros(len(features) + 1, dtype=bool)  # the last: of no feature
    for k, info in enumerate(features):
        roles = info.roles
        grains = Role.GRAINS in roles and roles.isdisjoint({Role.BODY, Role.CUT})
        fine[k] = not ALWAYS.isdisjoint(roles) or grains or (Role.BEAD in roles and _across(part, k) <= ball)
    return np.asarray(fine[part.owner])


def _across(part: Part, feature: int) -> float:
    """How wide the balls of a feature are, mm: twice their area over what their edges turn by."""
    corners = part.points[part.triangles[part.owner == feature]]
    mine = part.triangles[part.owner == feature].astype(np.int64)
    out = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.maximum(length(out), 1e-12)
    sides = np.sort(np.concatenate((mine[:, :2], mine[:, 1:], mine[:, ::2])), axis=1)
    order = np.lexsort(sides.T)
    same = np.flatnonzero((sides[order[1:]] == sides[order[:-1]]).all(axis=1))
    one, two = order[same] % len(mine), order[same + 1] % len(mine)
    normal = out / double[:, None]
    turn = np.arccos(np.clip((normal[one] * normal[two]).sum(axis=1), -1.0, 1.0))
    long = length(np.diff(part.points[sides[order[same]]], axis=1)[:, 0])
    return float(2.0 * double.sum() / max((turn * long).sum(), 1e-9))


@dataclass(frozen=True, eq=False)
class Work:
    """A part, points (n, 3) mm and triangles (m, 3), and which of its faces are ``fine`` (m,)."""

    points: Floats
    triangles: Ints
    fine: Flags

    @cached_property
    def _skin(self) -> Skin:
        return Skin(self.points, self.triangles, np.zeros(len(self.triangles), dtype=np.int64))

    @cached_property
    def _solid(self) -> tuple[Manifold, int]:
        """As the kernel has it, and the number its faces go by there."""
        from manifold3d import Manifold, Mesh64

        key = Manifold.reserve_ids(1)
        faces = self.triangles.astype(np.uint64)
        mesh = Mesh64(
            np.array(self.points), faces, run_index=np.array([0, faces.size]),
            run_original_id=np.array([key]), face_id=np.arange(len(faces), dtype=np.uint64),
        )  # fmt: skip
        return Manifold(mesh), key

    def open(self, spots: Floats, up: Floats, across: float) -> Flags:
        """Whether a tip ``across`` mm wide meets coarse faces alone above each spot (n, 3)."""
        if not self.fine.any() or not len(spots):
            return np.ones(len(spots), dtype=bool)
        one, two = frame_of(up)
        angle = np.arange(8)[:, None] * np.pi / 4
        ring = np.concatenate((np.zeros((1, 3)), np.cos(angle) * one + np.sin(angle) * two)) * across / 2
        start = (spots[:, None] + ring).reshape(-1, 3) - up * NEAR
        way = np.tile(up, (len(start), 1))
        _, met = self._skin.grid.cast(start, way, leaving=False, reach=3 * NEAR)
        return np.asarray(~((met >= 0) & self.fine[met]).reshape(len(spots), -1).any(axis=1))

    def touched(self, solid: Manifold) -> bool:
        """Whether a solid touches fine work: by the faces that bound what it shares with the part."""
        if not self.fine.any():
            return False
        own, key = self._solid
        shared = (own ^ solid).to_mesh64()
        ends = np.asarray(shared.run_index) // 3
        faces = np.asarray(shared.face_id)
        return any(
            bool(self.fine[faces[first:last]].any())
            for first, last, run in zip(ends, ends[1:], shared.run_original_id, strict=False)
            if run == key
        )
