"""Solids of flat metal bent by a map of geometry.bend."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.bend import Bend
from ..measures.kinds import cross
from ..shapes.mesh import LIFT_ERROR
from .creases import ON_PLANE, closed, cut_along, flat_faces, laid_anew
from .kernel import Readout, join, marked, read
from .owners import mark_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .parts import Origin

# The three ways across a net of even triangles; the middle one is the sum of the others.
NET = np.array([(1.0, 0.0, 0.0), (0.5, math.sqrt(0.75), 0.0), (-0.5, math.sqrt(0.75), 0.0)])


def bent_solid(
    solid: Manifold, bend: Bend, tolerance: float, key: str, origin: Callable[[int], Origin | None]
) -> tuple[Manifold, dict[int, Origin]]:
    """``solid``, flat, bent: creased finely enough that its new curves keep to the tolerance.

    ``origin`` tells for a mark of the flat solid its step and lifts; the second value does so
    for the new marks, which are made of ``key`` (what the outcome will be, as a hash)."""
    origins: dict[int, Origin] = {}
    out = read(solid)
    whole = _folded(out, bend, tolerance) if not bend.closed or _even(out) else None
    if bend.closed:
        whole = whole and _sewn(whole)
    if whole is not None:
        return _marked(whole, bend, f"{key} 0", origin, origins), origins
    # The ends of a ring differ: it is bent as two halves, which are joined.
    halves = [half for half in solid.split_by_plane((1.0, 0.0, 0.0), 0.0) if half]
    parts = [_folded(read(half), bend, tolerance) for half in halves]
    made = [_marked(part, bend, f"{key} {number}", origin, origins) for number, part in enumerate(parts)]
    return join(made), origins


@dataclass(frozen=True, eq=False)
class Folded:
    """A mesh before it is bent and after: ``out`` flat, cut at the creases, and where its points
    come to, (n, 3)."""

    out: Readout
    bent: np.ndarray
    sewn: np.ndarray  # for each point, the point it becomes one with


def _folded(out: Readout, bend: Bend, tolerance: float) -> Folded:
    """A flat mesh cut at the creases of a bend, laid anew between them, and bent."""
    creases = creases_of(bend, out.points, tolerance)
    points, triangles, parent = out.points, out.triangles, np.arange(len(out.triangles))
    cell = np.zeros(len(triangles), dtype=np.int64)
    for way, planes in creases:
        points, triangles, piece, slab = cut_along(points, triangles, way, planes)
        parent, cell = parent[piece], cell[piece] * (len(planes) + 1) + slab
    keys = flat_faces(out)[parent] * (cell.max(initial=0) + 1) + cell
    _, region = np.unique(keys, return_inverse=True)
    triangles, piece = laid_anew(points, triangles, region)
    parent = parent[piece]
    order = np.lexsort([parent, out.mark[parent]])
    triangles, parent = triangles[order], parent[order]
    used, triangles = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], triangles.reshape(-1, 3)
    mesh = Readout(points, triangles, out.mark[parent], out.face[parent], out.cut[parent])
    return Folded(mesh, _chorded(bend, points, creases), np.arange(len(points)))


def _marked(
    folded: Folded, bend: Bend, key: str, origin: Callable[[int], Origin | None], origins: dict[int, Origin]
) -> Manifold:
    """The solid of a bent mesh, with what is known of its facets, marked anew."""
    out, points = folded.out, folded.bent
    lift = _lifts(folded, bend)
    doubt = LIFT_ERROR * np.abs(lift)
    middles = out.points[out.triangles].mean(axis=1)
    after = Readout(points, out.triangles, out.mark, out.face, out.cut).areas()
    share = out.areas() * bend.swell(middles) / np.maximum(after, 1e-12)
    starts = np.flatnonzero(np.r_[True, out.mark[1:] != out.mark[:-1]])
    stops = np.r_[starts[1:], len(out.mark)]
    patches = []
    for k, (a, b) in enumerate(zip(starts, stops, strict=True)):
        known = origin(int(out.mark[a]))
        # The kernel's own ids, of the cut through a ring, differ from run to run.
        mark = mark_of(f"{key} {'cut' if known is None else out.mark[a]} {k}")
        if known is not None:
            wider = np.clip(share[a:b], 0.0, 10.0)
            own, unsure = known[1][out.face[a:b]].T
            lift[a:b] += own * wider * np.where(out.cut[a:b], -1.0, 1.0)
            doubt[a:b] += unsure * wider
            origins[mark] = known[0], np.stack([lift[a:b], doubt[a:b]], axis=1)
        patches.append((mark, folded.sewn[out.triangles[a:b]]))
    return marked(points, patches)


def _even(out: Readout) -> bool:
    """Whether both ends of flat metal lie equally far out: only such may be sewn to a ring."""
    along = out.points[:, 0]
    return len(along) > 0 and abs(float(along.min() + along.max())) < ON_PLANE


def _sewn(folded: Folded) -> Folded | None:
    """A mesh bent to a ring with its two ends made one; None where they are not alike."""
    out, points = folded.out, folded.out.points
    far = np.abs(points[:, 0])
    at_end = far > far.max() - ON_PLANE
    lids = at_end[out.triangles].all(axis=1)
    lids &= (np.sign(points[out.triangles, 0]).sum(axis=1) % 3) == 0
    left, right = (np.flatnonzero(at_end & (points[:, 0] * side > 0)) for side in (-1, 1))
    if len(left) != len(right) or len(left) == 0:
        return None
    pairs = [np.round(points[side, 1:], 6) + 0.0 for side in (left, right)]
    one, other = (side[np.lexsort(spots.T)] for side, spots in zip((left, right), pairs, strict=True))
    if np.abs(points[one, 1:] - points[other, 1:]).max() > ON_PLANE:
        return None
    sewn = np.arange(len(points))
    sewn[other] = one
    kept = ~lids
    mesh = Readout(points, out.triangles[kept], out.mark[kept], out.face[kept], out.cut[kept])
    return Folded(mesh, folded.bent, sewn) if closed(sewn[mesh.triangles]) else None


def creases_of(bend: Bend, points: np.ndarray, tolerance: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """The directions and places of the creases at which flat metal is folded: across a ring's
    strip, in a net of triangles over a dome."""
    outer = bend.radius + bend.thick
    if bend.kind == "round":
        step = 2 * math.acos(max(-1.0, 1 - tolerance / outer)) * bend.neutral / bend.stretch
        reach = float(np.abs(points[:, 0]).max())
        return [(np.array([1.0, 0.0, 0.0]), _between_points(points[:, 0], reach, step))]
    # A triangle's corners are the farthest from its middle: there the sagitta is r^2 / (2 R).
    pitch = math.sqrt(3 * 2 * tolerance / outer) * bend.neutral * math.sqrt(3) / 2
    reach = math.ceil(float(np.linalg.norm(points[:, :2], axis=1).max()) / pitch) + 1
    planes = np.arange(-reach, reach + 1) * pitch
    return [(way, planes) for way in NET]


def _between_points(along: np.ndarray, reach: float, step: float) -> np.ndarray:
    """Places at most ``step`` apart from -reach to reach, the same on both sides of the middle,
    and as far as may be from points that lie near: no slivers."""
    count = max(1, math.ceil(reach / (0.9 * step)))
    even = np.arange(1, count) * (reach / count)
    near = np.unique(np.round(np.abs(along), 6))
    half = 0.05 * reach / count
    places = []
    for place in even.tolist():
        inside = near[(near > place - half) & (near < place + half)]
        marks = np.concatenate([[place - half], inside, [place + half]])
        widest = int(np.diff(marks).argmax())
        places.append(place if len(inside) == 0 else float(marks[widest : widest + 2].mean()))
    right = np.array([*places, reach])
    return np.concatenate([-right[::-1], [0.0], right])


def _chorded(bend: Bend, points: np.ndarray, creases: list[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
    """Flat points (n, 3) bent straight from crease to crease."""
    if bend.kind == "round":
        planes = creases[0][1]
        cell = np.clip(np.searchsorted(planes, points[:, 0]) - 1, 0, len(planes) - 2)
        share = (points[:, 0] - planes[cell]) / (planes[cell + 1] - planes[cell])
        ends = [bend.apply(np.column_stack([planes[cell + k], points[:, 1:]])) for k in (0, 1)]
        # So that points on a crease stay on it, to the last digit.
        return np.asarray((1 - share)[:, None] * ends[0] + share[:, None] * ends[1])
    pitch = float(np.diff(creases[0][1][:2])[0])
    place = points @ NET[[0, 2]].T / pitch
    cell = np.floor(place)
    rest = place - cell
    over = rest.sum(axis=1) > 1
    weights = np.where(over[:, None], 1 - rest[:, ::-1], rest)
    total = np.zeros_like(points)
    corners = [(over, over, 1 - weights.sum(axis=1)), (True, False, weights[:, 0])]
    for right, up, weight in [*corners, (False, True, weights[:, 1])]:
        spot = cell + np.stack(np.broadcast_arrays(right, up, over)[:2], axis=1)
        flat = np.linalg.solve(NET[[0, 2], :2], spot.T * pitch).T
        total += weight[:, None] * bend.apply(np.column_stack([flat, points[:, 2]]))
    return total


def _lifts(folded: Folded, bend: Bend) -> np.ndarray:
    """Mean distance of each bent facet to the bent surface (a quadratic patch), mm."""
    flat, triangles = folded.out.points, folded.out.triangles
    corners = [flat[triangles[:, k]] for k in range(3)]
    bent = [folded.bent[triangles[:, k]] for k in range(3)]
    total = np.zeros_like(bent[0])
    for k in range(3):
        middle = bend.apply((corners[k] + corners[k - 1]) / 2)
        total += middle - (bent[k] + bent[k - 1]) / 2
    normal = cross(bent[1] - bent[0], bent[2] - bent[0])
    size = np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    return np.asarray((normal * total).sum(axis=1) / size / 3.0)
