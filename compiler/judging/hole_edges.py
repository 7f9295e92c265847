"""How much metal the light holes that settings cut leave beside them, up to the rim of its part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role

if TYPE_CHECKING:
    from ..measures.kinds import Floats
    from .piece import Piece

UPRIGHT = 0.05  # sine: a face that leans less along its stone is the wall of a hole
INTO = 0.005  # mm
TALL = 0.2  # mm of wall, less is the brim of a bearing


@dataclass(frozen=True)
class Edge:
    """The least metal beside a light hole: cut by ``hole`` in ``metal`` for ``line``, ``wide`` mm,
    ``at`` (3,) toward ``way`` (3,)."""

    hole: int
    metal: int
    line: int
    wide: float
    at: Floats
    way: Floats


def hole_edges(piece: Piece) -> Iterator[Edge]:
    """The narrowest of every light hole that a setting cuts in flat metal other than its own."""
    skin, lines = piece.skin_measures.skin, piece.stones.line
    beds = {bed.stone: bed.body for bed in piece.beds}  # in which they stand: see thin-beside
    for feature, call in piece.with_role(Role.SEAT, Role.HOLE):
        into = call.get("in")
        served = sorted(piece.services.lines(feature.index))
        if not call.within or not served or not isinstance(into, Feature) or into.outline is None:
            continue
        if call.within[:1] == piece.call(into.index).within[:1]:
            continue  # in its own metal
        standing = [k for k, line in enumerate(lines) if int(line) in served and beds.get(k) != into.index]
        stones = np.array(standing, dtype=int)
        wall = np.flatnonzero(skin.owner == feature.index)
        middle = skin.corners[wall].mean(axis=1)
        if not len(wall) or not len(stones):
            continue
        near = np.linalg.norm(middle[:, None] - piece.stones.frames[stones, :, 3], axis=2).argmin(axis=1)
        axis = piece.stones.frames[stones[near], :, 2]
        upright = np.abs((skin.normals[wall] * axis).sum(axis=1)) < UPRIGHT
        tall = np.ptp(np.einsum("nij,nj->ni", skin.corners[wall], axis), axis=1) > TALL
        wall, middle, near = wall[upright & tall], middle[upright & tall], near[upright & tall]
        if not len(wall):
            continue
        ways = -skin.normals[wall]
        far, met = skin.grid.cast(middle + INTO * ways, ways, leaving=True)
        out = np.where((met >= 0) & (skin.owner[met] == into.index), far, np.inf)
        k = int(out.argmin())
        if np.isfinite(out[k]):
            line = int(lines[stones[near[k]]])
            yield Edge(feature.index, into.index, line, float(out[k]) + INTO, middle[k], ways[k])

