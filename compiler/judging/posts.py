"""Which wires are ear posts: thin, long, and pointing backward or made for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..bench.roles import FigureOf, Role
from ..measures.kinds import dot, frame_of
from ..measures.rays import room_at
from .figure_rule import Aspect, Reading
from .figures import figure, narrowest

if TYPE_CHECKING:
    from .piece import Piece

BACKWARD, LONG, THIN = -0.9, 6.0, 1.3
BESIDE = 0.3  # mm beside a post, where a clutch grips it
ROUND = 150.0  # degrees that a hook turns
FREE = 1.5  # mm, how far its free end stands from other metal


def posts_of(piece: Piece) -> Iterator[tuple[int, float, np.ndarray]]:
    """(line, wire, foot) of every ear post, in order."""
    rods = piece.rods
    for k in range(len(rods.wire)):
        line = int(rods.feature[k])
        if piece.is_for(line, Role.PIN):
            continue
        back = rods.way[k, 2] < BACKWARD and rods.long[k] >= LONG and rods.wire[k] <= THIN
        if back or (piece.is_for(line, Role.EAR_POST) and rods.long[k] >= LONG):
            yield line, float(rods.wire[k]), rods.foot[k]


def free_of_metal(piece: Piece, rod: int) -> float:
    """How much of an ear post a clutch can be pushed over: from its tip to the first metal beside
    it that is of no post, mm."""
    rods = piece.rods
    way, long = rods.way[rod], float(rods.long[rod])
    others = piece.skin_measures.skin
    others = others.part(~piece.skin_measures.flags(f.index for f, _ in piece.with_role(Role.EAR_POST)))
    one, two = frame_of(way)
    turn = np.radians(np.arange(0.0, 360.0, 60.0))[:, None]
    ring = (rods.wire[rod] / 2 + BESIDE) * (np.cos(turn) * one + np.sin(turn) * two)
    back = np.tile(-way, (len(ring), 1))
    far, met = others.grid.cast(rods.foot[rod] + long * way + ring, back, leaving=False, reach=long)
    buried = (met >= 0) & (dot(others.normals[met], back) > 0)
    return float(min(far.min(), long)) if not buried.any() else 0.0


def ear_hooks(piece: Piece) -> Iterator[int]:
    """Wire that goes through an ear, as no word tells: thin, bent right round, one end in the air; of
    a piece that hangs by no loop and goes round no finger."""
    if piece.wear_measures.loops or piece.wear_measures.hole is not None:
        return
    skin = piece.skin_measures.skin
    for feature, call in piece.with_role(Role.WIRE):
        path = feature.look("path") if "path" in feature.offers else None
        section = figure(call, FigureOf.SECTION)
        if not isinstance(path, Lines) or section is None:
            continue
        wire = narrowest(section[1])
        ends = [
            line.points[[0, -1]] for line in path.lines
            if not line.closed and wire <= THIN and _turn(line.points) >= ROUND
        ]  # fmt: skip
        other = skin.part(skin.owner != feature.index) if ends else skin
        for two in ends if len(other.triangles) else ():
            far = room_at(other, two, 1.0)
            if far.min() < wire < FREE < far.max():
                yield feature.index


def _turn(points: np.ndarray) -> float:
    """How far a line turns in all, degrees."""
    way = np.diff(points, axis=0)
    way = way / np.maximum(np.linalg.norm(way, axis=1), 1e-12)[:, None]
    cosine = np.clip((way[1:] * way[:-1]).sum(axis=1), -1.0, 1.0)
    return float(np.degrees(np.arccos(cosine)).sum())


def _wires(piece: Piece) -> Iterator[Reading]:
    for line, wire, foot in posts_of(piece):
        yield Reading(line, wire, foot)


POST = Aspect(_wires, "wire", ("wire",))
