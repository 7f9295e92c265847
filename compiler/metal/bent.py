"""Solids of flat metal bent by a map of geometry.bend."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.bend import Bend
from ..shapes.mesh import LIFT_ERROR
from .kernel import Readout, join, marked, read
from .owners import mark_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .parts import Origin


def bent_solid(
    solid: Manifold,
    bend: Bend,
    tolerance: float,
    key: str,
    origin: Callable[[int], Origin | None],
) -> tuple[Manifold, dict[int, Origin]]:
    """``solid``, flat, bent: fine enough that its new curves keep to the tolerance.

    ``origin`` tells for a mark of the flat solid its step and lifts; the second value does so
    for the new marks, which are made of ``key`` (what the outcome will be, as a hash)."""
    outer = bend.radius + bend.thick
    step = 2 * math.acos(max(-1.0, 1 - tolerance / outer)) * bend.neutral
    parts = [solid]
    if bend.closed:
        parts = [
            part for part in solid.split_by_plane((1.0, 0.0, 0.0), 0.0) if not part.is_empty()
        ]
    origins: dict[int, Origin] = {}
    warped = []
    for number, part in enumerate(parts):
        fine = part.refine_to_length(max(step, 0.05))
        warped.append(_warped(read(fine), bend, f"{key} {number}", origin, origins))
    return join(warped), origins


def _warped(
    out: Readout,
    bend: Bend,
    key: str,
    origin: Callable[[int], Origin | None],
    origins: dict[int, Origin],
) -> Manifold:
    """Bend a solid's mesh, with what is known of its facets, marked anew."""
    lift = _lifts(out.points, out.triangles, bend)
    doubt = LIFT_ERROR * np.abs(lift)
    before = out.areas()
    points = bend.apply(out.points)
    after = _areas(points, out.triangles)
    starts = np.flatnonzero(np.r_[True, out.mark[1:] != out.mark[:-1]])
    stops = np.r_[starts[1:], len(out.mark)]
    middles = out.points[out.triangles].mean(axis=1)
    share = before * bend.swell(middles) / np.maximum(after, 1e-12)
    patches = []
    for k, (a, b) in enumerate(zip(starts, stops, strict=True)):
        known = origin(int(out.mark[a]))
        mark = mark_of(f"{key} {out.mark[a]} {k}")
        if known is not None:
            wider = np.clip(share[a:b], 0.0, 10.0)
            own, unsure = known[1][out.face[a:b]].T
            lift[a:b] += own * wider * np.where(out.cut[a:b], -1.0, 1.0)
            doubt[a:b] += unsure * wider
            origins[mark] = known[0], np.stack([lift[a:b], doubt[a:b]], axis=1)
        patches.append((mark, out.triangles[a:b]))
    return marked(points, patches)


def _lifts(flat: np.ndarray, triangles: np.ndarray, bend: Bend) -> np.ndarray:
    """Mean distance of each bent facet to the bent surface (a quadratic patch), mm."""
    corners = [flat[triangles[:, k]] for k in range(3)]
    bent = [bend.apply(corner) for corner in corners]
    total = np.zeros_like(bent[0])
    for k in range(3):
        middle = bend.apply((corners[k] + corners[k - 1]) / 2)
        total += middle - (bent[k] + bent[k - 1]) / 2
    normal = np.cross(bent[1] - bent[0], bent[2] - bent[0])
    size = np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    return np.asarray((normal * total).sum(axis=1) / size / 3.0)


def _areas(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return np.asarray(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))
