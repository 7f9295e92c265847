"""How much deeper a part has to sink into another to be joined over enough: tried, on their solids as laid
out. Lengths mm, areas mm2."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..measures.kinds import Floats, least_that
from ..measures.necks import Neck
from ..metal.kernel import join

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .piece import Piece

FARTHEST = 2.0  # mm, tried
FINE = 0.01  # mm, to which it is found
# Of the joint as it is, by which the one of the solids may differ: what was cut since is not in them.
ALIKE = 0.5
STEEP = 0.6  # of a way of the piece, from which it is tried before the way a joint looks itself


def sunk(
    piece: Piece, features: list[int], neck: Neck, wanted: float
) -> tuple[float, tuple[float, float, float]] | None:
    """How far, and which way in the piece, the smaller part of a neck has to move to be joined over
    ``wanted``; None where no way is found that does."""
    if not all(k < len(features) for k in (*neck.meeting, *neck.small)):
        return None
    small = join([_solid(piece, features, k) for k in neck.small])
    large = _solid(piece, features, neck.meeting[1]).as_original()
    now, way = _joined(small, large)
    if abs(now - neck.area) > ALIKE * neck.area:
        return None
    unit = way / max(float(np.linalg.norm(way)), 1e-12)
    steep = [axis for axis in np.argsort(-np.abs(unit), kind="stable") if abs(unit[axis]) >= STEEP]
    for step in (*(np.sign(unit[axis]) * np.eye(3)[axis] for axis in steep), unit):
        deep = _deep(small, large, step, wanted)
        if deep is not None:
            return deep, (float(step[0]), float(step[1]), float(step[2]))
    return None


def holds(one: Manifold, other: Manifold, way: Floats, share: float) -> bool:
    """Whether two solids that run into one another along a way are joined over at least a ``share`` of the
    section of the smaller, as necks are measured."""
    small, large = sorted((one, other), key=lambda solid: float(solid.volume()))
    outside = small - large
    points = np.asarray(outside.to_mesh64().vert_properties)[:, :3]
    if not len(points):
        return True
    section = float(outside.volume()) / max(float(np.ptp(points @ way)), FINE)
    return _joined(small, large.as_original())[0] >= share * section


def _deep(small: Manifold, large: Manifold, step: Floats, wanted: float) -> float | None:
    """The least of the depths tried, along a way, that joins two solids over ``wanted``."""
    low, high = 0.0, 0.1
    while _joined(small.translate(high * step), large)[0] < wanted:
        low, high = high, 2 * high
        if high > FARTHEST:
            return None
    return least_that(lambda far: _joined(small.translate(far * step), large)[0] >= wanted, low, high, FINE)


def _joined(small: Manifold, large: Manifold) -> tuple[float, Floats]:
    """The area two solids are joined over, the vector area of the lines they meet in, and the way into
    the second."""
    area, ways = 0.0, np.zeros(3)
    for part in (small ^ large).decompose():
        mesh = part.to_mesh64()
        points, triangles = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)
        runs = np.asarray(mesh.run_index) // 3
        mine = [k for k, one in enumerate(mesh.run_original_id) if one == large.original_id()]
        rows = np.concatenate([np.arange(runs[k], runs[k + 1]) for k in mine] or [np.zeros(0, int)])
        a, b, c = (points[triangles[rows.astype(int), k]] for k in range(3))
        vector = np.cross(b - a, c - a).sum(axis=0) / 2
        area, ways = area + float(np.linalg.norm(vector)), ways - vector
    return area, ways


def _solid(piece: Piece, features: list[int], number: int) -> Manifold:
    """One solid of the plan by the number that ``solid_faces`` gives it."""
    from manifold3d import Manifold

    line = features[number]
    copy = number - features.index(line)
    for one in piece.plan_solids:
        if one.feature == line and not one.cut:
            if copy < len(one.frames):
                return piece.solid_of(one).transform(one.frames[copy])
            copy -= len(one.frames)
    return Manifold()
