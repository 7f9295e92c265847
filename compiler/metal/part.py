"""The metal of a piece as it leaves this room: one closed mesh for each alloy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.lean import dataclass

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True)
class Part:
    """All metal of one alloy as a closed mesh.

    ``points`` (n, 3) float64 mm, ``triangles`` (m, 3) int32 counter-clockwise from outside,
    ``owner`` (m,) int32 index into Built.features. ``volume`` mm3 is the best figure for the
    exact solid (corrected for faceting), ``mesh_volume`` that of the triangles; ``error`` bounds
    the difference between ``volume`` and the exact solid, mm3.
    """

    metal: str
    points: np.ndarray
    triangles: np.ndarray
    owner: np.ndarray
    volume: float
    mesh_volume: float
    error: float = 0.0
