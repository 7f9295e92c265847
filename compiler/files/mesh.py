"""From a part's mesh to one that prints: single precision, welded, closed, in a fixed order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...lang.faults import Fault
from ..making.result import FeatureInfo
from ..measures.triangles import used, volume, whole
from ..metal.part import Part
from . import flats, repair

# Points are put on a grid of 10 nanometres (a 500th of the default tolerance). Up to 128 mm
# a grid point, its single-precision figure (STL) and its five decimals (3MF) name each other
# exactly, so every format carries the same points.
GRID = 1e-5


@dataclass(frozen=True)
class PrintMesh:
    """The closed mesh of one metal of one casting, as every file carries it.

    ``points`` (n, 3) float32 mm, in rising order of x, y, z; ``triangles`` (m, 3) int32
    counter-clockwise from outside, each starting at its lowest point, in order of feature;
    ``owner`` (m,) int32 index into Built.features; ``volume`` mm3 of the triangles."""

    metal: str
    points: np.ndarray
    triangles: np.ndarray
    owner: np.ndarray
    volume: float
    casting: str = ""


def print_mesh(
    part: Part, features: Sequence[FeatureInfo], *, shrink: float = 0.0
) -> tuple[PrintMesh | None, list[Fault]]:
    """The print mesh of ``part``, enlarged by 1/(1 - ``shrink``); None and a fault if open.

    The same solid gives the same arrays whatever order the kernel listed its triangles in.
    Fault: ``mesh-not-closed``, with the feature and the place of the first open edge."""
    points = np.asarray(part.points, np.float64) / (1.0 - shrink)
    triangles = np.asarray(part.triangles, np.int64)
    wrong = 0
    for number in range(1 + repair.ROUNDS):
        flat, place = _welded(points)
        mesh, bad = _settled(part.metal, flat, place[triangles], part.owner)
        if bad is None:
            return _whole(replace(mesh, casting=part.casting), features)
        wrong = int(bad[0])
        if not len(mesh.triangles) or not np.isfinite(points).all():
            break
        pinched = np.unique(mesh.triangles[bad])
        points = repair.drawn_apart(points, triangles, place, pinched, GRID * (2 + number))
    return None, [_not_closed(mesh, wrong, features)]


def _settled(
    metal: str, points: np.ndarray, triangles: np.ndarray, owner: np.ndarray
) -> tuple[PrintMesh, np.ndarray | None]:
    """Welded triangles put in order; with them those at open edges, or None if it is closed."""
    kept = whole(triangles)  # welding shrank an edge of the others to nothing
    triangles, owner = _ordered(triangles[kept], np.asarray(owner, np.int32)[kept], len(points))
    bad = open_triangles(triangles, len(points))
    if bad is not None:
        triangles, owner = _without_foldings(triangles, owner)
        bad = open_triangles(triangles, len(points))
    if bad is None:
        turned, whose = flats.turned(points, triangles, owner, GRID)
        if turned is not triangles:
            triangles, owner = _ordered(turned, whose, len(points))
            bad = open_triangles(triangles, len(points))
    return PrintMesh(metal, points, triangles, owner, volume(points, triangles)), bad


def _whole(mesh: PrintMesh, features: Sequence[FeatureInfo]) -> tuple[PrintMesh | None, list[Fault]]:
    """A closed mesh without unused points, if there is metal within it."""
    if not mesh.volume > 0.0:
        return None, [_not_closed(mesh, 0, features)]
    points, triangles = used(mesh.points, mesh.triangles)
    return replace(mesh, points=points, triangles=triangles), []


def _welded(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points (k, 3) on the grid in order of x, y, z, equal ones made one; the new number of each old one."""
    flat = (np.rint(points / GRID) * GRID).astype(np.float32)
    flat += np.float32(0.0)  # minus zero becomes zero
    order = np.lexsort((flat[:, 2], flat[:, 1], flat[:, 0]))
    ranked = flat[order]
    fresh = np.ones(len(ranked), bool)
    fresh[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    place = np.empty(len(ranked), np.int32)
    place[order] = np.cumsum(fresh, dtype=np.int32) - 1
    return ranked[fresh], place


def _ordered(triangles: np.ndarray, owner: np.ndarray, points: int) -> tuple[np.ndarray, np.ndarray]:
    """Each triangle from its lowest point, then all by feature and by their first edge."""
    x, y, z = triangles.T.astype(np.int64)
    one, two = (x <= y) & (x <= z), y <= z  # which is lowest: x, else y
    a, b, c = (
        np.where(one, first, np.where(two, second, third))
        for first, second, third in ((x, y, z), (y, z, x), (z, x, y))
    )
    order = _order(a * points + b, c, owner)
    ranked = np.stack((a, b, c), axis=1)[order].astype(np.int32)
    return np.ascontiguousarray(ranked), np.ascontiguousarray(owner[order])


def _order(edge: np.ndarray, corner: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """The order by owner, then edge, then corner. In a closed mesh a directed edge has one triangle, so
    the edge settles it, which is sorted quickest; the corner only matters for a broken one."""
    order = np.argsort(edge)
    ranked = edge[order]
    if (ranked[1:] == ranked[:-1]).any() or owner.max(initial=0) > np.iinfo(np.int16).max:
        return np.lexsort((corner, edge, owner))
    return order[np.argsort(owner[order].astype(np.int16), kind="stable")]


def open_triangles(triangles: np.ndarray, points: int) -> np.ndarray | None:
    """Triangles at edges not shared by just two, in opposite sense; None when the mesh is closed."""
    if not len(triangles):
        return np.zeros(1, np.int64)
    start = triangles.astype(np.int64)
    end = start[:, [1, 2, 0]]
    down = start > end
    edge = np.minimum(start, end) * points + np.maximum(start, end)
    ways, back = np.sort(edge[~down]), np.sort(edge[down])
    if np.array_equal(ways, back) and (ways[1:] != ways[:-1]).all():
        return None
    return np.flatnonzero(np.isin(edge, _unpaired(ways, back)).any(axis=1))


def _unpaired(ways: np.ndarray, back: np.ndarray) -> np.ndarray:
    """Edges that do not occur exactly once in each sense, from those of the two senses."""
    names, index = np.unique(np.concatenate((ways, back)), return_inverse=True)
    there = np.bincount(index[: len(ways)], minlength=len(names))
    again = np.bincount(index[len(ways) :], minlength=len(names))
    unpaired: np.ndarray = names[(there != 1) | (again != 1)]
    return unpaired


def _without_foldings(triangles: np.ndarray, owner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Drop pairs of triangles on the same three points, facing opposite ways."""
    a, b, c = triangles.T
    ahead = b < c  # each triangle starts at its lowest point, so this is its sense
    low, high = np.minimum(b, c), np.maximum(b, c)
    order = np.lexsort((ahead, high, low, a))
    corners = np.stack((a, low, high), axis=1)[order]
    sense = ahead[order]
    pair = (corners[1:] == corners[:-1]).all(axis=1) & (sense[1:] != sense[:-1])
    keep = np.ones(len(order), bool)
    keep[order[1:][pair]] = False
    keep[order[:-1][pair]] = False
    kept: tuple[np.ndarray, np.ndarray] = triangles[keep], owner[keep]
    return kept


def _not_closed(mesh: PrintMesh, wrong: int, features: Sequence[FeatureInfo]) -> Fault:
    feature = None
    place = None
    if wrong < len(mesh.triangles):
        index = int(mesh.owner[wrong])
        feature = features[index] if 0 <= index < len(features) else None
        spot = mesh.points[mesh.triangles[wrong]].astype(np.float64).mean(axis=0)
        place = float(spot[0]), float(spot[1]), float(spot[2])
    whose = f" at {feature.name}" if feature else ""
    return Fault(
        "mesh-not-closed", f"the mesh of the {mesh.metal} does not close{whose}",
        feature.span if feature else None,
        remedy="let the parts there overlap by 0.05 mm, or leave a clear gap",
        feature=feature.name if feature else None, place=place,
    )
