"""Copies of a line that stand in one another: how much of them does, and how far apart they just touch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.mirroring import MOVES, mirror_axis
from ..geometry import frames as fr
from .digits import mm
from .pairs import near_pairs

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .piece import Piece
    from .plan_solids import PlanSolid

MEET = 0.01  # of its volume, what copies that are to hold to one another share, as granules do
FAR = 40  # steps to where they hardly meet any more
ASIDE = 0.05  # of its size: parts turned about one middle, as points of a star or strands of a weave
TURNED = 1e-3  # of a unit


@dataclass(frozen=True)
class Twins:
    """Two copies of a solid of a line, the second ``seen`` (3, 4) from the first: the ``share`` of its volume
    that is in both, where, ``at`` (3,), and how far apart they stand, mm."""

    solid: PlanSolid
    seen: np.ndarray
    share: float
    at: np.ndarray
    apart: float


def twins_of(piece: Piece, solid: PlanSolid, least: float) -> Iterator[Twins]:
    """Every two copies of a solid that share more than ``least`` of its volume; of pairs alike the first."""
    points, frames = piece.points_of(solid), solid.frames
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    middles = frames[:, :, :3] @ _middle(points) + frames[:, :, 3]
    pairs = np.stack(near_pairs(middles, middles, (1 - least) * size), axis=1)
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    known = set[bytes]()
    for i, j in pairs.tolist():
        seen = fr.composed(fr.inverse(frames[i]), frames[j])
        apart = float(np.linalg.norm(middles[i] - middles[j]))
        key = (np.round(seen, 4) + 0.0).tobytes()
        if key not in known and not _is_turned(seen, apart < ASIDE * size):
            share = _share(piece, solid, seen, least)
            if share > least:
                yield Twins(solid, seen, share, middles[[i, j]].mean(axis=0), apart)
        known.add(key)


def _middle(points: np.ndarray) -> np.ndarray:
    return np.asarray(points.min(axis=0) + points.max(axis=0)) / 2


def _is_turned(seen: np.ndarray, one_middle: bool) -> bool:
    """Whether a copy is the part turned about its own middle."""
    turned = np.abs(seen[:, :3] - np.eye(3)).max() > TURNED
    return bool(one_middle and turned and not fr.mirrored(seen))


def _share(piece: Piece, solid: PlanSolid, seen: np.ndarray, least: float) -> float:
    """The share of a solid that its copy takes too; 0 where, by their boxes, it is no more than ``least``."""
    points, one = piece.points_of(solid), piece.solid_of(solid)
    both = np.stack([points, fr.apply(seen, points)])
    box = both.max(axis=1).min(axis=0) - both.min(axis=1).max(axis=0)
    near = np.prod(np.maximum(box, 0.0)) > least * one.volume()
    return _shared(one, seen) if near else 0.0


def _shared(one: Manifold, seen: np.ndarray) -> float:
    return float((one ^ one.transform(seen)).volume() / one.volume())


def touching(piece: Piece, twins: Twins) -> float | None:
    """How many times as far apart two copies only just run into one another; None of two at one place."""
    points, one = piece.points_of(twins.solid), piece.solid_of(twins.solid)
    if twins.apart < ASIDE * TURNED:
        return None
    middle = _middle(points)
    way = twins.seen[:, :3] @ middle + twins.seen[:, 3] - middle

    def shared(times: float) -> float:
        moved = twins.seen.copy()
        moved[:, 3] += (times - 1.0) * way
        return _shared(one, moved)

    low, high = 1.0, 2 * float(np.linalg.norm(np.ptp(points, axis=0))) / twins.apart
    for _ in range(FAR):
        times = (low + high) / 2
        low, high = (times, high) if shared(times) > MEET else (low, times)
    return high


def laid_by(piece: Piece, line: int, times: float) -> str:
    """The clause that lays the copies of a line ``times`` as far apart, as it is told; "" of none it says."""
    use = piece.call(line).own_line
    said = {key: one for key, one in use.arguments.items() if one.given}
    said |= {key: one for key, one in getattr(use, "placing", {}).items() if one.given}
    moves = MOVES[mirror_axis(said)] if "both-sides" in said and times > 1 else ()
    for key in (*moves, "every", "fit", "radius"):
        value = said[key].value if key in said else 0.0
        sizes = value if isinstance(value, tuple) else (value,)
        if any(sizes):
            far = " x ".join(mm(times * one) for one in sizes)
            return f"{key} {far} in the line of {piece.name_of(line)}"
    if "along" in said and "number" in said and times > 1:
        return f"number {max(1, int(said['number'].value / times))} in the line of {piece.name_of(line)}"
    return ""
