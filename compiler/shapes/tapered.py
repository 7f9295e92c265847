"""Wire that tapers evenly along its line, from full size to a share of it."""

from __future__ import annotations

import numpy as np

from ..geometry.line import Line
from .mesh import SolidMesh
from .sweep import sweep, thinned


def tapered(
    line: Line, section: str, wide: float, high: float, end: float, tolerance: float
) -> SolidMesh:
    """The wire of a named ``section``, ``wide`` x ``high`` mm at its start and ``end`` times
    that at its end."""
    from .makers import wire_section

    outline = wire_section(section, wide, high, tolerance)
    path = thinned(line, tolerance)
    length = np.linalg.norm(path.chords(), axis=1)
    along = np.concatenate([[0.0], np.cumsum(length)])
    scale = 1.0 + (end - 1.0) * along / along[-1]
    mesh = sweep(path, outline, scale=scale)
    exact = _exact(line, section, wide, high, end)
    return SolidMesh(mesh.points, mesh.triangles, mesh.face, mesh.lift, exact).fitted()


def _exact(line: Line, section: str, wide: float, high: float, end: float) -> float | None:
    """Pappus' theorem where the section's middle lies on the line, so that bends do not matter:
    area x length x (1 + e + e2) / 3 (frustum of a cone). None for other sections."""
    from math import pi

    areas = {"round": pi * wide * high / 4, "square": wide * high, "flat": wide * high}
    if section not in areas:
        return None
    return areas[section] * line.length() * (1 + end + end * end) / 3
