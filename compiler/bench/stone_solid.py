"""Stones as solids, for measuring metal against them and for pictures. Never part of the metal."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ...stdlib.cuts import CUTS
from ..geometry import frames as fr

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .stone_kind import StoneKind


def stone_solid(setting: StoneKind) -> Manifold:
    """The stone of a setting in its own frame (girdle at z = 0, table to +z)."""
    return _solid(setting.figures)


@lru_cache(maxsize=256)
def _solid(figures: tuple[Any, ...]) -> Manifold:
    from manifold3d import Manifold, Mesh64

    points, triangles = stone_mesh(figures)
    return Manifold(Mesh64(np.array(points), triangles.astype(np.uint64)))


@lru_cache(maxsize=256)
def stone_mesh(figures: tuple[Any, ...], tolerance: float = 0.01) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 3) mm and triangles (m, 3) of a stone given as (cut, length, width[, narrow]), its chords
    within ``tolerance`` mm."""
    name, long, wide, *rest = figures
    facets = CUTS[name].facets(long, wide, rest[0] if rest else None, tolerance=tolerance)
    return facets.points, facets.triangles()


def placed_mesh(
    figures: tuple[Any, ...], frame: np.ndarray, tolerance: float = 0.01
) -> tuple[np.ndarray, np.ndarray]:
    """The same where a stone sits, in a (3, 4) ``frame``; counter-clockwise from outside in a mirror too."""
    points, triangles = stone_mesh(figures, tolerance)
    return fr.apply(frame, points), triangles[:, ::-1] if fr.mirrored(frame) else triangles
