"""From finished metal to parts: triangles in the order of work, their features, true volume."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .kernel import Patch, Readout, solid_of
from .owners import Owners
from .part import Part

if TYPE_CHECKING:
    from manifold3d import Manifold

# The id of the step that a triangle comes from; lift and doubt of each face of its mesh, mm.
Origin = tuple[int, np.ndarray]


@dataclass(frozen=True, eq=False)
class Sorted:
    """A metal's mesh, its triangles in the order of work; ``rank`` (m,) tells whose each is, ``mark``
    and ``face`` are the kernel's. ``volume``, ``mesh_volume`` and ``error`` in mm3 as in ``Part``."""

    points: np.ndarray
    triangles: np.ndarray
    rank: np.ndarray
    mark: np.ndarray
    face: np.ndarray
    volume: float
    mesh_volume: float
    error: float

    def part(self, metal: str, owners: Owners) -> Part:
        """As a part of an alloy, with the features of this build."""
        features = np.array([*(o.feature for o in owners.by_id.values()), -1], dtype=np.int32)
        return Part(
            metal, self.points, self.triangles, features[self.rank], self.volume, self.mesh_volume,
            self.error,
        )  # fmt: skip

    def solid(self) -> Manifold:
        """The mesh as a solid of the kernel, for measuring."""
        return solid_of([Patch(self.points, self.triangles, self.face, self.mark)])


def in_order(out: Readout, owners: Owners, origin: Callable[[int], Origin | None]) -> Sorted:
    """Sort triangles by the order of work and weigh the facets' shortfall.

    ``origin`` gives for a mark the step and how far each face of its mesh lies inside the true surface."""
    nobody = len(owners.by_id)
    changes = np.flatnonzero(np.diff(out.mark)) + 1
    stops = np.concatenate([[0], changes, [len(out.mark)]]) if len(out.mark) else np.zeros(1, int)
    marks, which = np.unique(out.mark[stops[:-1]], return_inverse=True)
    ranks = np.full(len(marks), nobody, dtype=np.int32)
    lifts = [np.zeros((1, 2))]  # of marks that are nobody's
    start = np.zeros(len(marks), dtype=np.int64)
    for index, mark in enumerate(marks.tolist()):
        found = origin(mark)
        if found is not None:
            ranks[index] = owners.by_id[found[0]].rank
            start[index] = sum(map(len, lifts))
            lifts.append(found[1])
    lengths = np.diff(stops)
    rank = np.repeat(ranks[which], lengths)
    place = np.repeat(start[which], lengths)
    lift, doubt = np.concatenate(lifts)[np.where(place > 0, place + out.face, 0)].T
    areas = out.areas()
    shortfall = np.where(out.cut, -lift, lift) * areas
    order = np.argsort(rank.astype(np.uint16 if nobody < 65_000 else np.int32), kind="stable")
    volume = out.volume()
    return Sorted(
        out.points, out.triangles[order].astype(np.int32), rank[order], out.mark[order], out.face[order],
        volume + float(shortfall.sum()), volume, float((doubt * areas).sum()) + 1e-6 * volume,
    )
