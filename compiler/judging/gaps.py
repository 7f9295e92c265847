"""How far neighbouring stones stand apart, girdle to girdle. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..geometry.outlines import trace
from .edges import inside_by
from .pairs import near_pairs
from .stone_table import Stones, outline_of, reach_of

if TYPE_CHECKING:
    from .piece import Piece

# Gaps wider than this are no one's concern.
FAR = 0.8
# Girdles further apart in height than this pass over one another.
LEVEL = 0.25


@dataclass(frozen=True)
class Gap:
    """Two neighbouring stones: the line of the second, ``width`` between their girdles
    (negative: they overlap), the place between, whether one prong touches both, and whether both
    rest in the walls of one channel, with no metal between, or between the bars of one."""

    feature: int
    first: int
    second: int
    width: float
    place: tuple[float, float, float]
    shares: bool
    channel: bool = False
    bar: bool = False


def gaps_of(piece: Piece) -> list[Gap]:
    """All pairs of stones within FAR of one another, in order."""
    stones = piece.stones
    if len(stones.kind) < 2:
        return []
    most = max(reach_of(kind) for kind in stones.kinds)
    centres = stones.frames[:, :, 3]
    first, second = near_pairs(centres, centres, 2 * most + FAR)
    once = first < second
    first, second = first[once], second[once]
    widths = _widths(stones, first, second)
    shared = _shared(piece)
    found = []
    for i, j, width in zip(first, second, widths, strict=True):
        if width < FAR:
            middle = (centres[i] + centres[j]) / 2
            found.append(
                Gap(
                    int(stones.feature[j]), int(i), int(j), float(width),
                    (float(middle[0]), float(middle[1]), float(middle[2])),
                    (int(i), int(j)) in shared, *_in_a_channel(piece, int(i), int(j)),
                )
            )  # fmt: skip
    return found


def _in_a_channel(piece: Piece, first: int, second: int) -> tuple[bool, bool]:
    """Whether one seat is cut for both stones by a setting with no metal between them, or with a bar."""
    seat = piece.seated.get(first)
    one = seat is not None and piece.seated.get(second) == seat and piece.is_for(seat, Role.CHANNEL)
    bar = one and first in piece.barred
    return one and not bar, bar


def _shared(piece: Piece) -> set[tuple[int, int]]:
    """Pairs of stones that a prong touches both of."""
    prongs = piece.prongs
    by_rod: dict[int, list[int]] = {}
    for stone, rod in zip(prongs.stone[prongs.holding], prongs.rod[prongs.holding], strict=True):
        by_rod.setdefault(int(rod), []).append(int(stone))
    return {
        (min(a, b), max(a, b))
        for stones in by_rod.values()
        for k, a in enumerate(stones)
        for b in stones[k + 1 :]
    }


def _widths(stones: Stones, first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Girdle to girdle for each pair; alike pairs (a row, a ring) are measured once."""
    own, other = stones.frames[first], stones.frames[second]
    off = other[:, :, 3] - own[:, :, 3]
    apart = np.einsum("nij,ni->nj", own[:, :, :3], off)
    turn = np.einsum("nij,nik->njk", own[:, :, :3], other[:, :, :3])
    kinds = np.stack([stones.kind[first], stones.kind[second]], axis=1)
    rows = np.concatenate([kinds, np.round(apart, 5), np.round(turn.reshape(-1, 9), 5)], axis=1)
    measured: dict[tuple[float, ...], float] = {}
    widths = np.empty(len(rows))
    for k, row in enumerate(map(tuple, rows.tolist())):
        if row not in measured:
            measured[row] = _width(stones, int(first[k]), int(second[k]), apart[k], turn[k])
        widths[k] = measured[row]
    return widths


def _width(stones: Stones, i: int, j: int, apart: np.ndarray, turn: np.ndarray) -> float:
    """One pair, the second as the first sees it."""
    a, b = stones.of(i), stones.of(j)
    if a.cut == b.cut == "round" and abs(apart[2]) < 1e-4 and turn[2, 2] > 0.9999:
        return float(np.linalg.norm(apart)) - (a.width + b.width) / 2
    ring = _girdle(b) @ turn.T + apart
    back = (_girdle(a) - apart) @ turn
    if min(np.abs(ring[:, 2]).min(), np.abs(back[:, 2]).min()) > LEVEL:
        return FAR
    low = [_outside(outline_of(a), ring), _outside(outline_of(b), back)]
    return float(min(low))


def _girdle(setting: object) -> np.ndarray:
    flat = trace(outline_of(setting), 0.004)  # type: ignore[arg-type]
    return np.concatenate([flat, np.zeros((len(flat), 1))], axis=1)


def _outside(outline: tuple[object, ...], points: np.ndarray) -> float:
    """Least distance of points to a flat outline's edge in space; level and inside: below 0."""
    inside = inside_by(outline, points[:, :2])
    height = np.abs(points[:, 2])
    gap = np.where(inside < 0, np.hypot(inside, height), np.where(height < LEVEL, -inside, height))
    return float(gap.min())


__all__ = ["Gap", "gaps_of"]
