"""What a piece hangs by: its loops, the free opening of each, and how it comes to rest.

Axes: x right, y up, z to the onlooker. The chain is taken to pull straight up on one loop, and
at `PULL` degrees from level on each of two; it slides to the side of the loop it pulls at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .measures.closest import on_triangle
from .measures.hang import Hang, hang
from .measures.kinds import Floats, length
from .measures.skin import Skin

if TYPE_CHECKING:
    from .piece import Piece

PULL = 45.0
LEVEL = 0.25  # loops within this share of the height below the highest one carry the piece
APART = 0.25  # two loops farther apart than this share of the width make a pair
TRIES = 9  # spots across a loop where the largest ball is sought


@dataclass(frozen=True)
class Loop:
    """One loop in the piece: the feature, middle of its hole (3,), axis of the hole (3,), inside
    diameter and wire, mm."""

    feature: int
    middle: Floats
    axis: Floats
    inside: float
    wire: float

    def pulled(self, way: Floats) -> Floats:
        """Where a chain pulling along ``way`` bears on the inside of the loop."""
        flat = way - (way @ self.axis) * self.axis
        size = float(np.linalg.norm(flat))
        return self.middle if size < 0.2 else self.middle + flat / size * self.inside / 2


@dataclass(frozen=True)
class Rest:
    """How the piece hangs: on which loops, statics, and how far (mm) and by what share of the
    height the support lies above the centre of mass."""

    loops: tuple[Loop, ...]
    hang: Hang
    above: float
    share: float


def loops_of(piece: Piece) -> list[Loop]:
    """Every loop of the piece, copies counted singly."""
    found = []
    for feature in piece.features:
        if feature.opening is None:
            continue
        inside, wire = feature.opening
        for frame in feature.frames:
            found.append(Loop(feature.index, frame[:, 3], frame[:, 2], inside, wire))
    return found


def carrying(loops: list[Loop], skin: Skin) -> tuple[Loop, ...]:
    """The one loop or the two that carry the piece: the highest, outermost ones."""
    low, high = skin.box
    tops = max((loop.middle[1] for loop in loops), default=0.0)
    upper = [p for p in loops if p.middle[1] >= tops - LEVEL * (high[1] - low[1])]
    if not upper:
        return ()
    left = min(upper, key=lambda loop: (loop.middle[0], loop.feature))
    right = max(upper, key=lambda loop: (loop.middle[0], loop.feature))
    apart = right.middle[0] - left.middle[0]
    middle = (low[0] + high[0]) / 2
    if apart > APART * (high[0] - low[0]) and left.middle[0] < middle < right.middle[0]:
        return left, right
    return (max(upper, key=lambda loop: (loop.middle[1], -loop.feature)),)


def at_rest(loops: tuple[Loop, ...], centre: Floats, skin: Skin) -> Rest | None:
    """How the piece hangs by its carrying loops; None without any."""
    if not loops:
        return None
    turn = np.radians(90.0 if len(loops) == 1 else PULL)
    ways = [np.array([side * np.cos(turn), np.sin(turn), 0.0]) for side in (-1.0, 1.0)]
    supports = [loop.pulled(way) for loop, way in zip(loops, ways, strict=False)]
    found = hang(centre.tolist(), [support.tolist() for support in supports])
    above = float(np.mean([support[1] for support in supports]) - centre[1])
    low, high = skin.box
    return Rest(loops, found, above, above / max(float(high[1] - low[1]), 1e-9))


def free_opening(loop: Loop, skin: Skin) -> float:
    """Diameter of the largest ball that sits in the plane of a loop's hole, mm: what passes it.

    Sought on a lattice across the hole and once more, finer, round the best spot; good to about
    a hundredth of the inside.
    """
    reach = loop.inside / 2 + loop.wire
    _, face = skin.grid.near(loop.middle[None] - reach, loop.middle[None] + reach)
    if not len(face):
        return loop.inside
    one = np.cross(loop.axis, (1.0, 0.0, 0.0) if abs(loop.axis[0]) < 0.9 else (0.0, 1.0, 0.0))
    one = one / np.linalg.norm(one)
    across = np.stack((one, np.cross(loop.axis, one)))
    best, spot = 0.0, np.zeros(2)
    for size in (loop.inside / 2, loop.inside / TRIES, loop.inside / TRIES**2):
        steps = np.linspace(-size, size, TRIES)
        tries = spot + np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        tries = np.concatenate((spot[None], tries))
        tries = tries[np.hypot(*tries.T) < loop.inside / 2]
        if not len(tries):
            break
        far = _clear(skin, loop.middle + tries @ across, face)
        k = int(np.argmax(far))
        if far[k] > best:
            best, spot = float(far[k]), tries[k]
    return 2 * best


def _clear(skin: Skin, at: Floats, face: np.ndarray) -> Floats:
    """Distance from each spot to the nearest of the faces; 0 for a spot in metal."""
    row, other = np.divmod(np.arange(len(at) * len(face)), len(face))
    near = on_triangle(at[row], skin.corners[face][other])
    far = length(near - at[row]).reshape(len(at), len(face))
    closest = far.argmin(axis=1)
    go = at - near.reshape(len(at), len(face), 3)[np.arange(len(at)), closest]
    outside = (go * skin.normals[face[closest]]).sum(axis=1) > 0
    return np.where(outside, far[np.arange(len(at)), closest], 0.0)
