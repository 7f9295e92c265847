"""Skins over a grid of points that know the true surface half way between their nodes.

A maker traces its surface twice as densely as the mesh wants it; every second row and column become nodes,
the rest tell how far each facet lies from the true surface (to second order)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry.parallels import left_of
from ..measures.triangles import whole
from .mesh import SolidMesh, smooth_turns

SAME = 1e-9  # mm; points nearer than this are one


def skin(
    fine: np.ndarray, rows_close: bool, columns_close: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (n, 3), triangles (m, 3) and lift (m,) of a grid of points ``fine`` (r, c, 3).

    A closed way round has an even number of points, an open one an odd number. Seen from outside, columns run
    counter-clockwise about the way of the rows."""
    if rows_close:
        fine = np.concatenate([fine, fine[:1]])
    if columns_close:
        fine = np.concatenate([fine, fine[:, :1]], axis=1)
    rows, columns = fine.shape[0] // 2 + (not rows_close), fine.shape[1] // 2 + (not columns_close)
    points = fine[: 2 * rows : 2, : 2 * columns : 2].reshape(-1, 3)
    return points, strips(rows, columns, rows_close, columns_close).reshape(-1, 3), _lift(fine)


def strips(rows: int, columns: int, rows_close: bool, columns_close: bool) -> np.ndarray:
    """Two triangles of point numbers in each mesh of a grid of ``rows`` times ``columns`` points, numbered
    row by row, (r, c, 2, 3); where a way round closes, from its last to its first too."""
    index = np.arange(rows * columns).reshape(rows, columns)
    index = np.pad(index, ((0, int(rows_close)), (0, int(columns_close))), "wrap")
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]
    return np.stack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)], 2)


def _lift(fine: np.ndarray) -> np.ndarray:
    """Mean distance along its normal from each facet to the true surface, mm."""
    a, b = fine[:-2:2, :-2:2], fine[:-2:2, 2::2]
    c, d = fine[2::2, 2::2], fine[2::2, :-2:2]
    ab, bc = fine[:-2:2, 1::2] - (a + b) / 2, fine[1::2, 2::2] - (b + c) / 2
    cd, da = fine[2::2, 1::2] - (c + d) / 2, fine[1::2, :-2:2] - (d + a) / 2
    ac = fine[1::2, 1::2] - (a + c) / 2
    first = _along(a, b, c, ab + bc + ac)
    second = _along(a, c, d, ac + cd + da)
    return np.stack([first, second], axis=2).reshape(-1)


def _along(a: np.ndarray, b: np.ndarray, c: np.ndarray, total: np.ndarray) -> np.ndarray:
    """A third of the part of ``total`` along the normal of facets a, b, c (a quadratic patch)."""
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=-1)
    return np.asarray((normal * total).sum(axis=-1) / np.maximum(size, 1e-300) / 3.0)


def halved(loop: np.ndarray, cuts: Sequence[np.ndarray]) -> np.ndarray:
    """A closed loop (n, 2) with more points on its true curve: its chords divided at ``cuts`` (n
    arrays of shares between 0 and 1), and a point half way between every two."""
    chord = np.roll(loop, -1, axis=0) - loop
    bow = -left_of(chord) * (smooth_turns(loop) * np.linalg.norm(chord, axis=1) / 8.0)[:, None]
    parts = []
    for here, way, out, inner in zip(loop, chord, bow, cuts, strict=True):
        stops = np.concatenate([[0.0], inner, [1.0]])
        share = np.stack([stops[:-1], (stops[:-1] + stops[1:]) / 2], axis=1).reshape(-1, 1)
        parts.append(here + share * way + 4.0 * share * (1.0 - share) * out)
    return np.concatenate(parts)


def welded(
    points: np.ndarray, triangles: np.ndarray, face: np.ndarray, lift: np.ndarray,
    exact: float | None = None,
) -> SolidMesh:
    """One closed mesh: points in the same place made one, collapsed triangles dropped, turned
    so that its volume is positive. ``face`` indexes ``lift``."""
    _, first, which = np.unique(
        np.round(points / SAME).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    order = np.argsort(first)
    rank = np.empty(len(first), dtype=np.int64)
    rank[order] = np.arange(len(first))
    merged = rank[which.reshape(-1)][triangles]
    kept = whole(merged)
    mesh = SolidMesh(points[first[order]], merged[kept], face[kept], lift, exact)
    if mesh.volume() < 0:
        mesh = SolidMesh(mesh.points, mesh.triangles[:, ::-1].copy(), mesh.face, -lift, exact)
    return mesh
