"""The modulus: volume of metal by the surface that cools it, mm; the quick answer to how it freezes.

N. Chvorinov (1940): the time to freeze goes with its square. It knows nothing of the mould round
corners: outer corners freeze sooner than told, inner ones later.
"""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import Floats
from ..measures.skin import Skin
from ..measures.voxels import fill, reach

CUBES = 60_000  # at most, over the box of a piece
BALLS = 2.0  # the neighbourhood reaches so many radii of the ball that fits there


@dataclass(frozen=True)
class Modulus:
    """``whole`` mm of all metal; ``most`` mm where it is heaviest, ``at`` (3,) mm, ``across`` mm of the
    ball that fits there."""

    whole: float
    most: float
    at: tuple[float, float, float]
    across: float


def modulus(skin: Skin) -> Modulus:
    """The modulus of a closed skin, and where metal is heaviest."""
    low, high = skin.box
    pitch = max(float(np.prod(high - low) / CUBES) ** (1 / 3), 0.05)
    n = np.maximum(np.ceil((high - low) / pitch).astype(int), 1) + 2
    start = low - pitch / 2
    metal = fill(skin, start, pitch, (int(n[0]), int(n[1]), int(n[2])))
    whole = skin.volume / max(float(skin.areas.sum()), 1e-12)
    if not metal.any():
        return Modulus(whole, whole, tuple(((low + high) / 2).tolist()), 2 * whole)
    far = reach(~metal, int(n.max()))
    cell = np.array(np.unravel_index(int(np.argmax(far)), far.shape))
    radius = float(far[tuple(cell)]) * pitch
    at = start + cell * pitch
    return Modulus(whole, local_modulus(skin, at, BALLS * radius, pitch, metal, start), tuple(at.tolist()), 2 * radius)


def local_modulus(
    skin: Skin, at: Floats, reach_out: float, pitch: float, metal: Floats, start: Floats
) -> float:
    """Volume by surface within ``reach_out`` mm of a spot."""
    spans = [
        slice(*np.clip(((at[k] + np.array((-1, 1)) * reach_out - start[k]) / pitch).round().astype(int) + (0, 1),
                       0, metal.shape[k]))
        for k in range(3)
    ]  # fmt: skip
    axes = [start[k] + pitch * np.arange(spans[k].start, spans[k].stop) - at[k] for k in range(3)]
    near = axes[0][:, None, None] ** 2 + axes[1][None, :, None] ** 2 + axes[2] ** 2 <= reach_out**2
    volume = float((metal[spans[0], spans[1], spans[2]] & near).sum()) * pitch**3
    middles = skin.corners.mean(axis=1)
    surface = float(skin.areas[((middles - at) ** 2).sum(axis=1) <= reach_out**2].sum())
    return volume / surface if surface > 0 else volume ** (1 / 3)
