"""Copies of one mesh that are not solids of the kernel yet: arrays, boxes and frames."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..shapes.mesh import SolidMesh
from .kernel import Patch, solid_of
from .locality import around, colours, placed_boxes
from .memo import key_of
from .owners import Owner

if TYPE_CHECKING:
    from manifold3d import Manifold


@dataclass(frozen=True, eq=False)
class Copies:
    """A step's ``mesh`` at ``frames`` (n, 3, 4), and whose it is."""

    owner: Owner
    mesh: SolidMesh
    frames: np.ndarray

    def __len__(self) -> int:
        return len(self.frames)

    @cached_property
    def key(self) -> str:
        """What it is, as a hash."""
        return key_of("copies", self.owner.key, self.frames.tobytes())

    @cached_property
    def boxes(self) -> np.ndarray:
        """A box round each copy, (n, 6) mm."""
        points = self.mesh.points
        return placed_boxes(points.min(axis=0), points.max(axis=0), self.frames)

    @cached_property
    def box(self) -> np.ndarray:
        """A box round all copies, (6,) mm."""
        return around(self.boxes)

    @property
    def triangles(self) -> int:
        """Triangles of all copies."""
        return len(self.frames) * len(self.mesh.triangles)

    def part(self, chosen: np.ndarray) -> Copies:
        """Those copies only (a mask or indices)."""
        return Copies(self.owner, self.mesh, self.frames[chosen])

    def patch(self) -> Patch:
        """All copies as one patch."""
        return placed(self.mesh, self.frames, self.owner.id)


def placed(mesh: SolidMesh, frames: np.ndarray, mark: int) -> Patch:
    """``mesh`` at every frame; mirrored frames turn the triangles round."""
    count = len(frames)
    points = mesh.points @ frames[:, :, :3].transpose(0, 2, 1) + frames[:, None, :, 3]
    start = np.arange(count) * len(mesh.points)
    triangles = mesh.triangles[None] + start[:, None, None]
    mirrored = np.linalg.det(frames[:, :, :3]) < 0
    if mirrored.any():
        triangles[mirrored] = triangles[mirrored][:, :, ::-1]
    return Patch(
        points.reshape(-1, 3), triangles.reshape(-1, 3), np.tile(mesh.face, count), mark
    )


def solids_of(several: Sequence[Copies]) -> list[Manifold]:
    """All copies as few solids: those that nowhere meet share one."""
    if not several:
        return []
    boxes = np.concatenate([copies.boxes for copies in several])
    colour = colours(boxes) if len(boxes) > 1 else np.zeros(1, dtype=np.int64)
    if colour is None:  # a crowd
        return [solid_of([one.patch()]) for copies in several for one in _singly(copies)]
    stops = np.cumsum([0, *(len(copies) for copies in several)])
    solids = []
    for number in range(int(colour.max()) + 1):
        patches = []
        for index, copies in enumerate(several):
            chosen = colour[stops[index] : stops[index + 1]] == number
            if chosen.all():
                patches.append(copies.patch())
            elif chosen.any():
                patches.append(copies.part(chosen).patch())
        solids.append(solid_of(patches))
    return solids


def _singly(copies: Copies) -> Iterator[Copies]:
    for index in range(len(copies)):
        yield copies.part(np.array([index]))
