"""Metal that came and metal that went between two makes, by the kernel's own booleans."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..making.result import Built
from ..metal.kernel import join, mesh_of, plain

if TYPE_CHECKING:
    from manifold3d import Manifold

SMALLEST = 1e-3  # mm3: what is smaller is no change of the work but of how its curves are cut


@dataclass(frozen=True, eq=False)
class Metal:
    """Metal as a closed mesh: ``points`` (n, 3) mm, ``triangles`` (m, 3)."""

    points: np.ndarray
    triangles: np.ndarray


@dataclass(frozen=True, eq=False)
class Difference:
    """``kept``, ``gone`` and ``come`` metal of two makes, the last two with their mm3. Faces that are
    the same in both leave nothing, so the figures are as good as the metal that changed."""

    kept: Metal
    gone: Metal
    come: Metal
    gone_mm3: float
    come_mm3: float


def told(volume: float) -> str:
    """A volume as it is told."""
    return f"{volume:,.2f} mm3" if volume >= 0.1 else f"{volume:.3f} mm3" if volume else "none"


def difference(before: Built, after: Built) -> Difference:
    """What changed in all metal, cast and bought, of whatever alloy."""
    old, new = (
        join([plain(part.points, part.triangles) for part in one.parts if len(part.triangles)])
        for one in (before, after)
    )
    kept, gone, come = old ^ new, _clean(old - new), _clean(new - old)
    was, went, came = (Metal(*mesh_of(solid)) for solid in (kept, gone, come))
    return Difference(was, went, came, gone.volume(), come.volume())


def _clean(solid: Manifold) -> Manifold:
    """``solid`` without the crumbs of curves that are cut otherwise."""
    from manifold3d import Manifold

    return Manifold.compose([one for one in solid.decompose() if one.volume() >= SMALLEST])
