"""Copies of one mesh that are not solids of the kernel yet: arrays, boxes and frames."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..shapes.mesh import SolidMesh
from .kernel import Patch, join, read, solid_of
from .locality import apart as hulls_apart
from .locality import around, colours, pairs, placed_boxes
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
    mirrored = fr.mirrored(frames)
    if mirrored.any():
        triangles[mirrored] = triangles[mirrored][:, :, ::-1]
    return Patch(points.reshape(-1, 3), triangles.reshape(-1, 3), np.tile(mesh.face, count), mark)


def solids_of(several: Sequence[Copies]) -> list[Manifold]:
    """All copies as few solids.

    What nowhere meets is one mesh, for which the kernel has nothing to reckon. Copies that do meet are joined
    by the kernel first, and what comes of it goes into that mesh too. A copy of what stands at the same place
    already adds nothing."""
    if not several:
        return []
    several = _once(several)
    boxes = np.concatenate([copies.boxes for copies in several])
    found = pairs(boxes)
    if found is None:  # a crowd
        return [solid_of([one.patch()]) for copies in several for one in _singly(copies)]
    found = _meeting(several, found)
    lone = np.ones(len(boxes), dtype=bool)
    lone[found] = False
    colour = colours(found, len(boxes))
    joined = [
        solid_of(_patches(several, ~lone & (colour == number)))
        for number in range(int(colour.max()) + 1 if len(found) else 0)
    ]
    if not lone.any():
        return joined
    apart = _patches(several, lone)
    return [solid_of([*apart, read(join(joined))] if joined else apart)]


def _once(several: Sequence[Copies]) -> Sequence[Copies]:
    """The copies without those whose mesh stands at their place in an earlier one."""
    frames = np.concatenate([copies.frames.reshape(-1, 12) for copies in several])
    mesh = np.repeat([id(copies.mesh) for copies in several], [len(copies) for copies in several])
    _, first = np.unique(np.column_stack([mesh, frames.view(np.int64)]), axis=0, return_index=True)
    if len(first) == len(frames):
        return several
    kept = np.zeros(len(frames), dtype=bool)
    kept[first] = True
    parts = np.split(kept, np.cumsum([len(copies) for copies in several])[:-1])
    return [one.part(mine) for one, mine in zip(several, parts, strict=True) if mine.any()]


def _meeting(several: Sequence[Copies], found: np.ndarray) -> np.ndarray:
    """Of the pairs (k, 2) whose boxes meet, those whose hulls may meet too."""
    which = np.repeat(np.arange(len(several)), [len(copies) for copies in several])
    frames = np.concatenate([copies.frames for copies in several])
    # Copies of one mesh are looked at together, whichever step they come from.
    first: dict[int, int] = {}
    kind = np.array([first.setdefault(id(one.mesh), k) for k, one in enumerate(several)])[which]
    kinds = kind[found]
    kept = np.ones(len(found), dtype=bool)
    for a, b in np.unique(kinds, axis=0).tolist():
        rows = np.flatnonzero((kinds == (a, b)).all(axis=1))
        one, other = found[rows].T
        kept[rows] = ~hulls_apart(several[a].mesh.points, frames[one], several[b].mesh.points, frames[other])
    return found[kept]


def _patches(several: Sequence[Copies], chosen: np.ndarray) -> list[Patch]:
    """Patches of those copies, counted through all of ``several``, that a mask chooses."""
    stops = np.cumsum([len(copies) for copies in several])[:-1]
    return [
        copies.part(mine).patch()
        for copies, mine in zip(several, np.split(chosen, stops), strict=True)
        if mine.any()
    ]


def _singly(copies: Copies) -> Iterator[Copies]:
    for index in range(len(copies)):
        yield copies.part(np.array([index]))
