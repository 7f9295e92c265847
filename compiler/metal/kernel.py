"""The geometry kernel behind few names: stamping meshes, placing, joining, cutting, reading back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..measures.kinds import cross

if TYPE_CHECKING:
    from manifold3d import Manifold


@dataclass(frozen=True, eq=False)
class Patch:
    """A closed mesh: ``points`` (n, 3) mm, ``triangles`` (m, 3), and the id of each triangle in two
    parts: the ``mark`` of whose it is (one for all, or (m,)) and its ``face`` (m,) there."""

    points: np.ndarray
    triangles: np.ndarray
    face: np.ndarray
    mark: int | np.ndarray


def solid_of(patches: Sequence[Patch | Readout]) -> Manifold:
    """A solid of closed meshes that nowhere meet. Its triangles remember mark and face.

    Meshes that do meet would give a wrong solid without a complaint: see ``copies.solids_of``."""
    from manifold3d import Manifold, Mesh64

    starts = np.cumsum([0, *(len(patch.points) for patch in patches)])
    triangles = [p.triangles + n for p, n in zip(patches, starts[:-1], strict=True)]
    marks = np.concatenate([np.broadcast_to(p.mark, len(p.triangles)) for p in patches])
    runs = np.flatnonzero(np.diff(marks, prepend=-1))
    data = Mesh64(
        np.concatenate([patch.points for patch in patches]), np.concatenate(triangles).astype(np.uint64),
        run_index=(3 * np.append(runs, len(marks))).astype(np.uint64),
        run_original_id=marks[runs].astype(np.uint32),
        face_id=np.concatenate([patch.face for patch in patches]).astype(np.uint64),
    )
    return Manifold(data)


def plain(points: np.ndarray, triangles: np.ndarray) -> Manifold:
    """A solid of one closed mesh, ``points`` (n, 3) mm and ``triangles`` (m, 3), that remembers nothing."""
    from manifold3d import Manifold, Mesh64

    return Manifold(Mesh64(np.array(points, dtype=np.float64), triangles.astype(np.uint64)))


def mesh_of(solid: Manifold) -> tuple[np.ndarray, np.ndarray]:
    """The points (n, 3) mm and triangles (m, 3) of a solid."""
    mesh = solid.to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64)


def marked(points: np.ndarray, runs: Sequence[tuple[int, np.ndarray]]) -> Manifold:
    """A solid of one closed mesh whose triangles come in runs of (mark, triangles (m, 3)); their
    faces are counted from 0 in each run."""
    sizes = [len(triangles) for _, triangles in runs]
    marks = np.repeat([mark for mark, _ in runs], sizes)
    face = np.concatenate([np.arange(size) for size in sizes])
    return solid_of([Patch(points, np.concatenate([one for _, one in runs]), face, marks)])


def join(solids: Sequence[Manifold]) -> Manifold:
    """One solid of all; an empty one of none."""
    from manifold3d import Manifold, OpType

    if len(solids) == 1:
        return solids[0]
    if not solids:
        return Manifold()
    return Manifold.batch_boolean(list(solids), OpType.Add)


def remove(solid: Manifold, tools: Sequence[Manifold]) -> Manifold:
    """``solid`` less all ``tools``."""
    from manifold3d import Manifold, OpType

    if not tools:
        return solid
    return Manifold.batch_boolean([solid, *tools], OpType.Subtract)


def problem(solid: Manifold) -> str | None:
    """Why the kernel could not make this solid, or None. Forces the work that was put off."""
    from manifold3d import Error

    status = solid.status()
    return None if status == Error.NoError else str(status).rpartition(".")[2]


@dataclass(frozen=True, eq=False)
class Readout:
    """A solid's mesh with, for each triangle, the stamp it came from (``mark``), its face in
    that mesh, and whether a cutter left it (``cut``)."""

    points: np.ndarray
    triangles: np.ndarray
    mark: np.ndarray
    face: np.ndarray
    cut: np.ndarray

    @cached_property
    def _crosses(self) -> np.ndarray:
        a, b, c = (np.take(self.points, self.triangles[:, k], axis=0) for k in range(3))
        return cross(b - a, c - a)

    def areas(self) -> np.ndarray:
        """Area of each triangle, mm2."""
        x, y, z = self._crosses.T
        return np.asarray(0.5 * np.sqrt(x * x + y * y + z * z))

    def volume(self) -> float:
        """Volume of the mesh, mm3."""
        return float(self.cones().sum())

    def cones(self) -> np.ndarray:
        """Signed volume of the cone from the middle to each triangle, mm3; their sum is the volume
        of any closed part of the mesh."""
        if len(self.triangles) == 0:
            return np.zeros(0)
        first = self.points[self.triangles[:, 0]] - self.points.mean(axis=0)
        return np.asarray(np.einsum("ij,ij->i", first, self._crosses) / 6.0)


def read(solid: Manifold) -> Readout:
    """The mesh of a solid with its marks."""
    mesh = solid.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=float)[:, :3]
    triangles = np.array(mesh.tri_verts, dtype=np.int64).reshape(-1, 3)
    face = np.array(mesh.face_id, dtype=np.int64)
    mark = np.zeros(len(triangles), dtype=np.int64)
    cut = np.zeros(len(triangles), dtype=bool)
    stops = [int(k) // 3 for k in mesh.run_index]
    ids = [int(one) for one in mesh.run_original_id]
    for run, mark_id in enumerate(ids):
        mark[stops[run] : stops[run + 1]] = mark_id
        if stops[run + 1] > stops[run]:
            cut[stops[run] : stops[run + 1]] = mesh.backside(run)
    order = _in_order(ids, stops, triangles)
    if order is not None:
        triangles, face, mark, cut = triangles[order], face[order], mark[order], cut[order]
    return Readout(points, triangles, mark, face, cut)


def _in_order(ids: list[int], stops: list[int], triangles: np.ndarray) -> np.ndarray | None:
    """An order of triangles that does not tell which of several runs of one id was made first:
    the kernel puts those by age, and what is kept from an earlier build is older."""
    filled = [run for run in range(len(ids)) if stops[run + 1] > stops[run]]
    if len({ids[run] for run in filled}) == len(filled):
        return None
    spans = {run: triangles[stops[run] : stops[run + 1]] for run in filled}
    filled.sort(key=lambda run: (ids[run], int(spans[run].min()), spans[run].tobytes()))
    return np.concatenate([np.arange(stops[run], stops[run + 1]) for run in filled])
