"""The modulus: volume of metal by the surface that cools it, mm; the quick answer to how it freezes.

N. Chvorinov (1940): the time to freeze goes with its square. It knows nothing of the mould round
corners: outer corners freeze sooner than told, inner ones later."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Flags, Floats
from ..measures.rays import spots_on
from ..measures.skin import Skin
from ..measures.voxels import fill, reach

CUBES = 60_000  # at most, over the box of a piece
NEARLY = 0.95  # of the largest ball
FINE, MOST_SPOTS = 15, 20_000  # spots to that reach, and in all
BALLS = 3.0  # the neighbourhood reaches so many radii of the ball that fits there


@dataclass(frozen=True)
class Modulus:
    """``whole`` and, where it is heaviest, ``most`` mm, ``at`` (3,) mm."""

    whole: float
    most: float
    at: tuple[float, float, float]


def modulus(skin: Skin) -> Modulus:
    """The modulus of a closed skin, and where metal is heaviest."""
    low, high = skin.box
    pitch = max(float(np.prod(high - low) / CUBES) ** (1 / 3), 0.05)
    n = np.maximum(np.ceil((high - low) / pitch).astype(int), 1) + 2
    start = low - pitch / 2
    metal = fill(skin, start, pitch, (int(n[0]), int(n[1]), int(n[2])))
    whole = skin.volume / max(float(skin.areas.sum()), 1e-12)
    if not metal.any():
        return Modulus(whole, whole, tuple(((low + high) / 2).tolist()))
    far = reach(~metal, int(n.min()))  # no ball in it is broader than its box
    cells = np.argwhere(far >= NEARLY * far.max())  # along a wire there are many
    cell = cells[np.argmin(((cells - cells.mean(axis=0)) ** 2).sum(axis=1))]
    radius = float(far[tuple(cell)]) * pitch
    at = start + cell * pitch
    return Modulus(whole, _local(skin, at, BALLS * radius, metal, start, pitch), tuple(at.tolist()))


def _local(skin: Skin, at: Floats, far: float, metal: Flags, start: Floats, pitch: float) -> float:
    """Volume by surface within ``far`` mm of a spot; ``metal`` are cubes of ``pitch`` from ``start`` on."""
    axes = [start[k] + pitch * np.arange(metal.shape[k]) - at[k] for k in range(3)]
    near = axes[0][:, None, None] ** 2 + axes[1][None, :, None] ** 2 + axes[2] ** 2 <= far**2
    volume = float((metal & near).sum()) * pitch**3
    spots = spots_on(skin, far / FINE, MOST_SPOTS)
    surface = spots.share * float((((spots.at - at) ** 2).sum(axis=1) <= far**2).sum())
    return volume / surface if surface > 0 else volume ** (1 / 3)
