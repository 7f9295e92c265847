"""Room in a field of stones for those that stand there already, as round a stone in its middle."""

from __future__ import annotations

import numpy as np

from ..bench.piece_bench import PieceBench
from ..bench.stone_kind import StoneKind
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace

BESIDE = 0.1  # mm of metal between a stone and the wall of another
WALL = 2.0  # mm from a girdle, further out no wall is the stone's own


def with_room(bench: PieceBench, frames: np.ndarray, kind: StoneKind, apart: float) -> np.ndarray:
    """Those of the frames (n, 3, 4) at which a stone of this kind stays ``apart`` mm off every stone laid
    before, and off the wall round it, one far above or below it aside; all of them if none does."""
    free = np.ones(len(frames), dtype=bool)
    for stones in bench.stones_here():
        girdle = trace(stones.setting.outline, 0.02)
        reach = apart + WALL + _size(kind) + _size(stones.setting)  # farther off no two of them meet
        for other in stones.frames:
            near = np.flatnonzero(free & (np.linalg.norm(frames[:, :, 3] - other[:, 3], axis=1) <= reach))
            wall = bench.wall_round(other, girdle) if len(near) else 0.0
            room = max(apart, wall + BESIDE) if wall else apart
            for k in near:
                free[k] = not _meet(frames[k], kind, other, stones.setting, room)
    return frames[free] if free.any() else frames


def _size(kind: StoneKind) -> float:
    """More than any two spots of a stone lie apart, mm."""
    return kind.length + kind.width + kind.crown() + kind.pavilion()


def _meet(frame: np.ndarray, kind: StoneKind, other: np.ndarray, standing: StoneKind, apart: float) -> bool:
    """Whether two stones come nearer than ``apart`` mm, seen along the first one's axis."""
    between = fr.compose(fr.inverse(frame)[None], other[None])[0]
    x, y, height = between[:, 3]
    if np.hypot(x, y) > np.hypot(kind.length, kind.width) + np.hypot(standing.length, standing.width) + apart:
        return False
    if height > kind.crown() + standing.pavilion() or -height > kind.pavilion() + standing.crown():
        return False
    own, girdle = trace(kind.outline, 0.02), trace(standing.outline, 0.02)
    spots = fr.apply(between, np.column_stack([girdle, np.zeros(len(girdle))]))[:, :2]
    deep = max(inside_loops([own], spots).max(), inside_loops([spots], own).max())
    return bool(deep > 1e-6 - apart)
