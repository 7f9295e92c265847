"""How prongs are rooted: how much of each wire is joined to other metal.

The joined area of a rod is its whole surface less what is still seen of it on the skin.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import ROD
from ..measures.kinds import length, place_of
from ..measures.skin import Skin
from ..shapes.makers import make
from .forms import Spot

if TYPE_CHECKING:
    from .piece import Piece

NEAR = 0.02  # mm, faces of a rod lie this near to its own wire


def roots_of(piece: Piece, skin: Skin) -> list[Spot]:
    """Over how many times its section every rod beside a stone is joined, at its foot, in their order."""
    rods = piece.rods
    chosen = np.unique(piece.prongs.rod)
    if not len(chosen):
        return []
    foot, way = rods.foot[chosen], rods.way[chosen]
    wire, long = rods.wire[chosen], rods.long[chosen]
    ends = np.stack((foot, foot + way * long[:, None]))
    room = (wire / 2 + NEAR)[:, None]
    row, face = skin.grid.near(ends.min(axis=0) - room, ends.max(axis=0) + room)
    mine = skin.owner[face] == rods.feature[chosen][row]
    row, face = row[mine], face[mine]
    go = skin.corners[face].mean(axis=1) - foot[row]
    along = (go * way[row]).sum(axis=1)
    off = length(go - along[:, None] * way[row])
    mine = (off < wire[row] / 2 + NEAR) & (along > -NEAR) & (along < long[row] + NEAR)
    seen = np.bincount(row[mine], skin.areas[face[mine]], len(chosen))
    section = math.pi * wire**2 / 4
    joined = (_surface(piece, chosen) - seen) / section
    return [
        Spot(max(0.0, float(joined[k])), place_of(foot[k]), int(rods.feature[rod]))
        for k, rod in enumerate(chosen.tolist())
    ]


def _surface(piece: Piece, chosen: np.ndarray) -> np.ndarray:
    """Whole surface of each rod as it was made, mm2: side, foot and tip."""
    rods = piece.rods
    found = np.empty(len(chosen))
    for k, rod in enumerate(chosen.tolist()):
        tip = piece.call(int(rods.feature[rod])).get("tip", "flat")
        round_tip = "round" if tip == "round" else "flat"
        found[k] = _area(float(rods.wire[rod]), float(rods.long[rod]), round_tip, piece.tolerance)
    return found


@lru_cache(maxsize=512)
def _area(wire: float, long: float, tip: str, tolerance: float) -> float:
    """Surface of a rod's facets, mm2."""
    return float(make(ROD, (wire, long, tip), tolerance).areas().sum())
