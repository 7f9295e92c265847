"""Whether metal behind stones may be holed, and how wide. Lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..bench.roles import FigureOf, Role
from .figures import figures

if TYPE_CHECKING:
    from .piece import Piece

BESIDE_HOLE = 0.4  # mm of metal left on each side of a hole in a wire


BEHIND = 6.0  # mm below a girdle; farther off it is the other side of a ring
STEP = 0.2  # mm
HOLE = 0.5  # mm, narrower holes neither let light in nor come clean out of the investment


def may_be_holed(piece: Piece, feature: int, across: float, stones: int) -> bool:
    """Whether a hole so wide (mm) may be cut in metal behind each of the ``stones`` of a line, and it still
    does its work: a body, or wire with metal left on both sides and from hole to hole; no finding, loop or
    pin, and nothing that holds a stone as a claw or a rail does."""
    if piece.is_for(feature, Role.FINDING, Role.PIN, Role.EAR_POST, Role.EAR_WIRE, Role.PRONG, Role.BEAD):
        return False
    if piece.features[feature].opening is not None or feature in piece.rods.feature.tolist():
        return False
    if piece.is_for(feature, Role.WIRE):
        sizes = figures(piece.call(feature), FigureOf.SECTION, FigureOf.WIRE)
        wide = max((max(one) if isinstance(one, tuple) else float(one) for _, _, one in sizes), default=0.0)
        return wide >= across + 2 * BESIDE_HOLE and _room_in_wire(piece, feature, wide, across, stones)
    return True


def borne(piece: Piece, stone: int, metal: int, deep: float) -> float:
    """How wide a hole (mm) may be cut straight behind a stone, ``deep`` mm below its girdle, so that the
    metal there still has the least wall on its narrow side."""
    frame = piece.stones.frames[stone]
    far = piece.skin_measures.skin.grid.cast(*round_about(frame[:, 3] - deep * frame[:, 2], frame))[0]
    return max(2 * (float(far.min()) - piece.bound("thin-wall", "least", metal)), 0.0)


def round_about(spot: np.ndarray, frame: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rays from a spot (3,) all round, square to the z of a frame (3, 4): starts and ways, (n, 3) each."""
    turn = np.arange(0.0, 2 * np.pi, np.pi / 18)
    ways = np.cos(turn)[:, None] * frame[:, 0] + np.sin(turn)[:, None] * frame[:, 1]
    return np.tile(spot, (len(ways), 1)), ways


def _room_in_wire(piece: Piece, wire: int, wide: float, across: float, stones: int) -> bool:
    """Whether holes straight behind stones keep clear of the sides of a wire, and of one another."""
    path, frames = piece.features[wire].look("path"), piece.stones.frames[piece.stones.line == stones]
    found = []
    for points in (line.fine(STEP).points for line in path.lines) if isinstance(path, Lines) else ():
        go, down = points - frames[:, None, :, 3], -frames[:, None, :, 2]
        deep = (go * down).sum(axis=2)
        off = np.linalg.norm(go - deep[..., None] * down, axis=2)
        off[(deep < 0) | (deep > BEHIND)] = np.inf
        best, row = off.argmin(axis=1), np.arange(len(frames))
        met = off[row, best] < (wide + across) / 2
        if (off[row, best][met] > (wide - across) / 2 - BESIDE_HOLE).any():
            return False
        found.append(frames[met, :, 3] + deep[row, best][met, None] * down[met, 0])
    spots = np.concatenate(found) if found else np.zeros((0, 3))
    apart = np.linalg.norm(spots[:, None] - spots, axis=2)[np.triu_indices(len(spots), 1)]
    return float(apart.min(initial=np.inf)) - across >= piece.bound("thin-wall", "least", wire)


def off_the_holes(piece: Piece, feature: int) -> str:
    """What to do with metal behind stones that takes no holes."""
    name = piece.name_of(feature)
    if piece.is_for(feature, Role.WIRE):
        return f"lay no stone over {name} (a shorter stretch of them), or move {name} off the hole"
    return f"move {name} off the hole"
