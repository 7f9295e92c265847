"""Metal in the room of stones: where it stands on the axis of a stone, and the volume both share.

Lengths mm, volumes mm3.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import Floats, Ints, dot
from ..measures.skin import Skin
from ..measures.stone import Stone

if TYPE_CHECKING:
    from .forms import Form
    from .piece import Piece

ASIDE = 1e-3  # of the height of a stone: its axis itself often runs through corners of the mesh
TOUCH = 1e-6  # mm3, what faces that only touch share by rounding


@dataclass(frozen=True, eq=False)
class Shared:
    """What a stone and the metal share, of the ``whole`` volume of the stone: each separate part
    by its volume and its corners (n, 3) in the stone's own axes."""

    whole: float
    parts: tuple[tuple[float, Floats], ...]

    @property
    def volume(self) -> float:
        """All that is shared, mm3."""
        return sum(volume for volume, _ in self.parts)

    @property
    def on_axis(self) -> tuple[float, float, float]:
        """The tallest part that stands on the stone's axis: from where to where, mm from the girdle,
        and its volume, mm3; zeros where none does."""
        spans = [(float(p[:, 2].min()), float(p[:, 2].max()), v) for v, p in self.parts if _is_round_axis(p)]
        return max(spans, key=lambda span: span[1] - span[0], default=(0.0, 0.0, 0.0))


def metal_on_axes(forms: Sequence[Form], stones: Sequence[Stone], skin: Skin) -> Ints:
    """The feature whose metal stands on the axis of each stone, -1 for none, (n,)."""
    found = np.full(len(stones), -1, dtype=np.int64)
    if not len(stones) or not len(skin.triangles):
        return found
    tall = np.array([form.top - form.tip for form in forms])
    top = np.array([form.top for form in forms])
    axis = np.array([stone.turn[2] for stone in stones])
    side = np.array([stone.turn[0] + 0.7 * stone.turn[1] for stone in stones])
    home = np.array([stone.origin for stone in stones]) + (ASIDE * tall)[:, None] * side
    start = home + (top - ASIDE * tall)[:, None] * axis
    # One way down as far as the stone goes; where it meets nothing, one up from there tells
    # whether all of it was in metal.
    far, met = skin.grid.cast(start, -axis, leaving=False)
    inside = met >= 0
    inside[inside] = (dot(-axis[inside], skin.normals[met[inside]]) > 0) | (
        far[inside] < (1 - 3 * ASIDE) * tall[inside]
    )
    found[inside] = skin.owner[met[inside]]
    return found


def shared_by(piece: Piece, chosen: Sequence[int]) -> dict[int, Shared]:
    """What each of the ``chosen`` stones and the metal share, by the kernel; those that share
    nothing are left out."""
    from manifold3d import Manifold, OpType

    solids = {k: piece.stone_solids[k][2] for k in chosen}
    if not solids:
        return {}
    both = Manifold.batch_boolean(list(solids.values()), OpType.Add) ^ piece.metal
    parts: dict[int, list[tuple[float, Floats]]] = {}
    for part in both.decompose():
        points = np.array(part.to_mesh64().vert_properties, dtype=float)[:, :3]
        owner = _nearest(piece, chosen, points.mean(axis=0))
        stone = piece.stone_measures.stones[owner]
        parts.setdefault(owner, []).append((part.volume(), stone.own(points)))
    found = ((k, Shared(float(solids[k].volume()), tuple(parts[k]))) for k in sorted(parts))
    return {k: shared for k, shared in found if shared.volume > TOUCH}


def _is_round_axis(points: Floats) -> bool:
    """Whether corners lie to all sides of the axis, half a turn apart at most."""
    turn = np.sort(np.arctan2(points[:, 1], points[:, 0]))
    gaps = np.diff(np.append(turn, turn[0] + 2 * np.pi))
    return bool(gaps.max() <= np.pi)


def _nearest(piece: Piece, chosen: Sequence[int], spot: Floats) -> int:
    """The stone a spot lies in, or nearest to, measured in its own half widths."""
    stones = piece.stone_measures.stones

    def off(k: int) -> float:
        across, along, up = stones[k].own(spot)
        form = piece.stone_measures.form(k)
        high = form.top if up > 0 else -form.tip
        rim = float(form.rim.max())
        return float(np.hypot(across, along) / rim + abs(up) / max(high, 1e-9))

    return min(chosen, key=off)
