"""Weight and centre of mass, exact for polyhedra."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from .kinds import Floats, Solid
from .skin import Skin, from_manifold

Part = tuple[Any, float]
"""(solid, skin, or (volume mm3, centroid (3,) mm)), density g/cm3."""


def volume_and_centre(what: Solid | Skin | tuple[float, Floats]) -> tuple[float, Floats]:
    """Volume mm3 and centroid (3,) mm: exact integrals over the tetrahedra to each face."""
    if isinstance(what, tuple):
        return float(what[0]), np.asarray(what[1], dtype=float)
    skin = what if isinstance(what, Skin) else from_manifold(what)
    if not len(skin.triangles):
        return 0.0, np.zeros(3)
    part, moment = skin.cones
    volume = float(part.sum())
    if volume == 0.0:
        return 0.0, skin.box[0]
    return volume, skin.box[0] + moment.sum(axis=1) / volume


def mass(parts: Iterable[Part]) -> tuple[float, Floats]:
    """Grams and centre of mass (3,) mm of parts of given densities; (0, zeros) for nothing."""
    total, moment = 0.0, np.zeros(3)
    for what, density in parts:
        volume, centre = volume_and_centre(what)
        grams = volume * density / 1000.0
        total, moment = total + grams, moment + grams * centre
    return (total, moment / total) if total else (0.0, np.zeros(3))
