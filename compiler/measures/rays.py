"""Points spread over a skin, and how far the metal (or air) goes straight in from each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .closest import on_triangle
from .kinds import Flags, Floats, Ints, dot, frame_of, least_by_row, length

if TYPE_CHECKING:
    from .skin import Skin

GOLDEN = np.array([0.7548776662466927, 0.5698402909980532])
"""Steps of the R2 low-discrepancy sequence (powers of the inverse plastic number)."""


@dataclass(frozen=True, eq=False)
class Spots:
    """Points on a skin: at (n, 3) mm, triangle (n,), inward unit (n, 3), `share` mm2 each."""

    at: Floats
    triangle: Ints
    inward: Floats
    share: float


def spots_on(skin: Skin, spacing: float, most: int) -> Spots:
    """Spread points evenly by area, about `spacing` mm apart, at most `most`.

    Point k stands for the k-th equal share of the area, at a place in its triangle from a fixed sequence: the
    same skin always gives the same points. Slivers get none."""
    total = np.cumsum(np.where(skin.sound, skin.areas, 0.0))
    if not len(total) or total[-1] <= 0:
        return Spots(np.zeros((0, 3)), np.zeros(0, dtype=np.int64), np.zeros((0, 3)), 0.0)
    count = int(np.clip(np.ceil(total[-1] / spacing**2), 256, most))
    aims = (np.arange(count) + 0.5) * (total[-1] / count)
    triangle = np.minimum(np.searchsorted(total, aims), len(total) - 1).astype(np.int64)
    at = _within(skin.corners[triangle], np.arange(count))
    return Spots(at, triangle, -skin.normals[triangle], float(total[-1] / count))


def _within(corners: Floats, number: Ints) -> Floats:
    """One point inside each triangle, never on its rim."""
    u, v = (0.5 + number[:, None] * GOLDEN[None, :]).T % 1.0
    over = u + v > 1
    u, v = np.where(over, 1 - u, u), np.where(over, 1 - v, v)
    u, v = 0.002 + 0.994 * u, 0.002 + 0.994 * v
    a = corners[:, 0]
    return np.asarray(a + u[:, None] * (corners[:, 1] - a) + v[:, None] * (corners[:, 2] - a))


def straight_in(skin: Skin, spots: Spots, reach: float = np.inf) -> tuple[Floats, Ints, Floats]:
    """Depth of the metal straight in from each spot: (mm, triangle met, how squarely).

    The last is the cosine between the ray and the outward normal met: 1 for a parallel wall. Nothing met
    within `reach` mm (or by a leak) gives inf, -1 and 0."""
    far, met = skin.grid.cast(spots.at, spots.inward, reach=reach)
    return far, met, np.where(met >= 0, dot(spots.inward, skin.normals[met]), 0.0)


def within(skin: Skin, at: Floats, size: float) -> Flags:
    """Which places (n, 3) lie nearer to the skin than ``size`` mm."""
    row, face = skin.grid.near(at - size, at + size)
    go = on_triangle(at[row], skin.corners[face]) - at[row]
    found = np.zeros(len(at), dtype=bool)
    found[row[dot(go, go) < size * size]] = True
    return found


def room_at(skin: Skin, at: Floats, size: Floats | float) -> Floats:
    """Distance (n,) mm from places (n, 3) to the skin; quickest where it is about `size` mm."""
    return _touching(skin, at, size)[0]


def _touching(skin: Skin, at: Floats, size: Floats | float) -> tuple[Floats, Floats]:
    """``room_at``, and the spot of the skin (n, 3) that is so near."""
    found, reach = np.full(len(at), np.inf), np.full(len(at), size)
    spot = np.full(at.shape, np.inf)
    todo = np.arange(len(at))
    while len(todo := todo[reach[todo] < 2 * skin.size]):
        side = reach[todo, None]
        row, face = skin.grid.near(at[todo] - side, at[todo] + side)
        if len(row):
            close = on_triangle(at[todo[row]], skin.corners[face])
            go = close - at[todo[row]]
            off = dot(go, go)
            rows, best = least_by_row(row, off)
            found[todo[rows]], spot[todo[rows]] = np.sqrt(off[best]), close[best]
        todo = todo[found[todo] > reach[todo]]
        reach *= 2
    return found, spot


def centred(
    skin: Skin, at: Floats, along: Floats, step: float, least: float, ways: int = 4
) -> tuple[Floats, Floats]:
    """Places (n, 3) moved square to the ways ``along`` (n, 3) to where there is most room, and the room, mm:
    one of ``ways`` to go, in steps from ``step`` down to ``least``, no farther than two of the first."""
    one, two = frame_of(np.where((along == 0).all(axis=1)[:, None], (0.0, 0.0, 1.0), along))
    turn = np.arange(ways)[:, None] * (2 * np.pi / ways)
    sides = np.cos(turn) * one[:, None] + np.sin(turn) * two[:, None]
    home, at, most = at, at.copy(), 2 * step
    room, touch = _touching(skin, at, step)
    row = np.arange(len(at))
    while step > least:
        tries = at[:, None] + step * sides
        rooms, spots = np.zeros(tries.shape[:2]), np.zeros(tries.shape)
        # What comes nearer to the spot that is touched has no more room.
        some, way = np.nonzero(np.linalg.norm(tries - touch[:, None], axis=2) > room[:, None])
        rooms[some, way], spots[some, way] = _touching(skin, tries[some, way], (room + step)[some])
        best = rooms.argmax(axis=1)
        better = (rooms[row, best] > room + 1e-9) & (length(tries[row, best] - home) <= most)
        at[better] = tries[row, best][better]
        room[better], touch[better] = rooms[row, best][better], spots[row, best][better]
        if not better.any():
            step /= 2
    return at, room
