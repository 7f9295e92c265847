"""One cell of a run of beads: a strip of the face with its bead, cut square at both mid-planes to
the next, by the kernel."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..shapes.mesh import SolidMesh
from .fans import Split
from .kernel import Patch, box, join, problem, read, solid_of
from .memo import key_of
from .owners import NOBODY
from .runs import FLAT, Cell, Run
from .seam import rim

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .solids import Workshop

ROOM = 0.02  # mm round a bead that must be flat and free
SLAB, CUTTER, COPY = NOBODY - 1, NOBODY - 2, NOBODY - 3


def cell_of(
    shop: Workshop, run: Run, shape: np.ndarray, level: float, wide: float
) -> Cell | None:
    """The cell of a run, from the memo if it is there."""
    level, pitch = round(level, 9), round(run.pitch, 12)
    key = key_of(
        "cell", run.copies.owner.shape.digest(), run.turn().tobytes(), level, pitch, wide,
        _mirrored(run),
    )  # fmt: skip
    return shop.memo.take(
        f"{key} {shop.tolerance}",
        lambda: _new_cell(run.copies.mesh, shape, _mirrored(run), level, pitch, wide),
        lambda cell: 0 if cell is None else len(cell.triangles),
    )


def _mirrored(run: Run) -> bool:
    return bool(fr.mirrored(run.copies.frames[0]))


def _new_cell(
    mesh: SolidMesh, shape: np.ndarray, mirrored: bool, level: float, pitch: float, wide: float
) -> Cell | None:
    """The cell of one copy alone: enough where what its neighbours have on this side of the
    mid-planes lies inside it. None where it is not so."""
    triangles = mesh.triangles[:, ::-1] if mirrored else mesh.triangles
    copy_solid = solid_of([Patch(shape, triangles, mesh.face, COPY)])
    depth, top = level - float(shape[:, 2].min()) + ROOM, float(shape[:, 2].max()) + ROOM
    slab = box((-2 * pitch, -wide, level - depth), (2 * pitch, wide, level), SLAB)
    cutter = box((-pitch / 2, -2 * wide, level - 2 * depth), (pitch / 2, 2 * wide, top), CUTTER)
    room = solid_of([cutter])
    if not _covers(copy_solid, pitch, float(np.abs(shape[:, 0]).max()), room):
        return None
    whole = join([solid_of([slab]), copy_solid]) ^ room
    if problem(whole) is not None:
        return None
    rise = float(whole.volume()) - 2 * wide * pitch * depth
    out = read(whole)
    flat = (out.mark == SLAB) & (out.face == 1)
    copy = out.mark == COPY
    keep = np.concatenate([np.flatnonzero(flat), np.flatnonzero(copy)])
    used, packed = np.unique(out.triangles[keep], return_inverse=True)
    points, triangles, source = _paired(out.points[used], packed.reshape(-1, 3), pitch / 2)
    face, on_top = out.face[keep][source], source < flat.sum()
    order = np.argsort(~on_top, kind="stable")
    left, right = (_sorted(points, x) for x in (-pitch / 2, pitch / 2))
    if len(left) != len(right) or len(left) < 2:
        return None
    if np.abs(points[left, 1:] - points[right, 1:]).max() > 10 * FLAT:
        return None
    return Cell(
        points, triangles[order], face[order], int(on_top.sum()), left, right, rise,
        pitch, wide, level, top, depth,
    )  # fmt: skip


def _sorted(points: np.ndarray, x: float) -> np.ndarray:
    """The points in a mid-plane, in one order."""
    found = np.flatnonzero(np.abs(points[:, 0] - x) < FLAT)
    return np.asarray(found[np.lexsort(points[found, 1:].round(7).T)])


def _paired(
    points: np.ndarray, triangles: np.ndarray, half: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The mesh with each point on a straight edge in one mid-plane in the other too: the kernel
    leaves a point here and there. The third value tells which triangle each came from."""
    split = Split(triangles)
    for x in (-half, half):
        here, there = _sorted(points, x), _sorted(points, -x)
        for spot in points[there, 1:]:
            if np.abs(points[here, 1:] - spot).max(axis=1).min() <= 10 * FLAT:
                continue
            edges = rim(split.triangles()[0])
            for first, last in edges[np.isin(edges, here).all(axis=1)].tolist():
                a, b = points[first, 1:], points[last, 1:]
                share = float((spot - a) @ (b - a)) / float((b - a) @ (b - a))
                if 0 < share < 1 and np.abs(a + share * (b - a) - spot).max() < FLAT:
                    points = np.concatenate([points, [(x, *spot)]])
                    split.split([first, len(points) - 1, last])
                    break
    return points, *split.triangles()


def _covers(copy: Manifold, pitch: float, reach: float, room: Manifold) -> bool:
    """Whether a copy holds all that its neighbours have in its ``room``."""
    least = 1e-9 * float(copy.volume())
    beyond = range(1, math.ceil(reach / pitch + 0.5))
    return all(
        ((copy.translate((side * number * pitch, 0.0, 0.0)) ^ room) - copy).volume() <= least
        for number in beyond
        for side in (-1, 1)
    )
