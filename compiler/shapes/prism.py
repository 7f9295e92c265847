"""Straight-sided bodies over a flat outline: bars, discs, plates, outlines pierced through."""

from __future__ import annotations

import numpy as np

from ..geometry.outlines import signed_area
from .mesh import SolidMesh, smooth_turns


def prism(points: np.ndarray, low: float, high: float, curved: bool = True) -> SolidMesh:
    """The body between heights ``low`` and ``high`` over counter-clockwise ``points`` (n, 2).

    ``curved`` says whether runs of equal chords stand for a curve (not for a polygon).
    """
    from manifold3d import triangulate

    count = len(points)
    base = np.concatenate([points, np.full((count, 1), low)], axis=1)
    top = np.concatenate([points, np.full((count, 1), high)], axis=1)
    cap = np.asarray(triangulate([points]), dtype=np.int64)
    here = np.arange(count)
    after = np.roll(here, -1)
    sides = np.stack(
        [here, after, after + count, here, after + count, here + count], axis=1
    ).reshape(-1, 3)
    triangles = np.concatenate([sides, cap + count, cap[:, ::-1]])
    face = np.concatenate(
        [np.repeat(here, 2), np.full(len(cap), count), np.full(len(cap), count + 1)]
    )
    chord = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    bend = smooth_turns(points) if curved else np.zeros(count)
    lift = np.concatenate([chord**2 * bend / 12.0, [0.0, 0.0]])
    return SolidMesh(np.concatenate([base, top]), triangles, face, lift)


def disc_volume(across: float, height: float) -> float:
    """Volume of a true disc, mm3 (handbook: pi d2 h / 4)."""
    return float(np.pi * across**2 * height / 4)


def flat_volume(points: np.ndarray, height: float) -> float:
    """Volume over a polygon taken as it is, mm3."""
    return signed_area(points) * height
