"""Closing a mesh that rounding has pinched, without moving a point by more than a hair.

The kernel's solids are closed by their point numbers, yet two points of different places on the
surface may round to one: an edge is then shared by four triangles, and a file that knows points
only by their figures (STL) cannot be told apart from a broken one. Such points are drawn back
into their own metal by a few grid steps, some tens of nanometres, until they differ."""

from __future__ import annotations

import numpy as np

from ..measures.kinds import unit
from ..measures.triangles import crosses

ROUNDS = 8


def drawn_apart(
    points: np.ndarray, triangles: np.ndarray, place: np.ndarray, pinched: np.ndarray, step: float,
) -> np.ndarray:
    """``points`` with those that share a pinched place moved inwards by about ``step``.

    ``place`` (n,) numbers the rounded place of each point, ``pinched`` (k,) the places at open
    edges. All in mm; the figures of a point depend on its surroundings only, not on its number."""
    crowd = np.flatnonzero(np.isin(place, pinched))
    crowd = crowd[np.lexsort((*points[crowd].T[::-1], place[crowd]))]
    fresh = np.ones(len(crowd), bool)
    fresh[1:] = place[crowd][1:] != place[crowd][:-1]
    starts = np.flatnonzero(fresh)
    rank = np.arange(len(crowd)) - np.repeat(starts, np.diff([*starts, len(crowd)]))
    inward = -_normals(points, triangles, crowd)
    moved = points.copy()
    moved[crowd] += inward * (step * (1.0 + 0.5 * rank))[:, None]
    return moved


def _normals(points: np.ndarray, triangles: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Unit normals (k, 3) at the points ``wanted``, weighted by area; z where there is none."""
    faces = triangles[np.isin(triangles, wanted).any(axis=1)]
    normal = np.zeros((len(points), 3))
    out = crosses(points[faces])
    for k in range(3):
        np.add.at(normal, faces[:, k], out)
    own = unit(normal[wanted])
    own[~own.any(axis=1)] = (0.0, 0.0, 1.0)
    return own
