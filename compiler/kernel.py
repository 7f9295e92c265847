"""The geometry kernel behind few names: stamping meshes, placing, joining, cutting, reading back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .shapes.mesh import SolidMesh

if TYPE_CHECKING:
    from manifold3d import Manifold


def stamped(mesh: SolidMesh) -> tuple[Manifold, int]:
    """A solid whose every triangle remembers the returned id and its face of ``mesh``."""
    from manifold3d import Manifold, Mesh64

    mark = Manifold.reserve_ids(1)
    count = len(mesh.triangles)
    data = Mesh64(
        np.array(mesh.points),
        mesh.triangles.astype(np.uint64),
        run_index=np.array([0, 3 * count], dtype=np.uint64),
        run_original_id=np.array([mark], dtype=np.uint32),
        face_id=mesh.face.astype(np.uint64),
    )
    return Manifold(data), mark


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


def boxes_meet(a: Sequence[float], b: Sequence[float]) -> bool:
    """Whether two (x0, y0, z0, x1, y1, z1) boxes touch."""
    return all(a[k] <= b[k + 3] and b[k] <= a[k + 3] for k in range(3))


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

    def areas(self) -> np.ndarray:
        """Area of each triangle, mm2."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)

    def volume(self) -> float:
        """Volume of the mesh, mm3."""
        if len(self.triangles) == 0:
            return 0.0
        centre = self.points.mean(axis=0)
        a, b, c = (self.points[self.triangles[:, k]] - centre for k in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def read(solid: Manifold) -> Readout:
    """The mesh of a solid with its marks."""
    mesh = solid.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=float)[:, :3]
    triangles = np.array(mesh.tri_verts, dtype=np.int64).reshape(-1, 3)
    face = np.array(mesh.face_id, dtype=np.int64)
    mark = np.zeros(len(triangles), dtype=np.int64)
    cut = np.zeros(len(triangles), dtype=bool)
    stops = [int(k) // 3 for k in mesh.run_index]
    for run, mark_id in enumerate(mesh.run_original_id):
        mark[stops[run] : stops[run + 1]] = mark_id
        if stops[run + 1] > stops[run]:
            cut[stops[run] : stops[run + 1]] = mesh.backside(run)
    return Readout(points, triangles, mark, face, cut)
