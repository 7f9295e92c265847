"""Bodies turned on the lathe: tubes, rods, balls' cousins, loops, bands, seat cutters."""

from __future__ import annotations

import numpy as np

from ..geometry.outlines import circle, signed_area
from ..measures.triangles import whole
from .doubled import strips
from .mesh import SolidMesh, smooth_turns
from .sections import moment


def revolve(profile: np.ndarray, count: int, curved: bool = True) -> SolidMesh:
    """The body swept by a closed ``profile`` (n, 2) of (radius, height) about the z axis.

    The profile is turned counter-clockwise first. Points at radius 0 meet on the axis.
    ``curved`` says whether runs of equal chords in the profile stand for a curve. The exact
    volume is known when the profile has no curved runs (Pappus over its triangles)."""
    if signed_area(profile) < 0:
        profile = profile[::-1]
    spokes = circle(1.0, count)
    points, index = _rings(profile, spokes)
    triangles, face = _walls(index, count)
    return SolidMesh(points, triangles, face, _lift(profile, count, curved), None)


def _rings(profile: np.ndarray, spokes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points of every ring, and for each (profile point, spoke) its index."""
    count = len(spokes)
    points, index, total = [], np.zeros((len(profile), count), dtype=np.int64), 0
    for row, (radius, height) in enumerate(profile):
        if radius <= 1e-12:
            points.append(np.array([[0.0, 0.0, height]]))
            index[row] = total
            total += 1
        else:
            points.append(np.column_stack([radius * spokes, np.full(count, height)]))
            index[row] = total + np.arange(count)
            total += count
    return np.concatenate(points), index


def _walls(index: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Triangles between neighbouring rings; those that collapse on the axis are dropped."""
    rows = len(index)
    triangles = index.reshape(-1)[strips(rows, count, True, True)].reshape(-1, 3)
    kept = whole(triangles)
    return triangles[kept], np.repeat(np.arange(rows * count), 2)[kept]


def _lift(profile: np.ndarray, count: int, curved: bool) -> np.ndarray:
    """Mean distance to the true surface of each facet, one per (profile chord, spoke)."""
    after = np.roll(profile, -1, axis=0)
    chord = after - profile
    length = np.linalg.norm(chord, axis=1)
    outward = chord[:, 1] / np.where(length > 0, length, 1.0)  # radial part of the normal
    # Facet of a frustum: mean over the band, area-weighted, of r sin2(pi/n)/3 (sagitta 2/3).
    r0, r1 = profile[:, 0], after[:, 0]
    mean = np.where(r0 + r1 > 0, (r0**2 + r0 * r1 + r1**2) / np.maximum(r0 + r1, 1e-300), 0.0)
    mean = mean * 2.0 / 3.0
    across = mean * np.sin(np.pi / count) ** 2 / 3.0 * outward
    along = length**2 * (smooth_turns(profile) if curved else 0.0) / 12.0
    return np.repeat(across + along, count)


def ring_volume(profile: np.ndarray) -> float:
    """Exact volume swept by a polygon profile (Pappus: 2 pi x first moment about the axis), mm3."""
    return 2 * np.pi * moment(profile)
