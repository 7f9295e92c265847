"""What is left open of a cuff or a torque, between all metal and stones at its ends. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..bench.feature import Lines
from ..bench.roles import Role
from ..bench.stone_solid import stone_mesh
from ..geometry.frames import apply
from ..measures.kinds import Floats, frame_of
from .piece import Piece

WRIST = 30.0, 90.0  # across on both sides, of what goes round a wrist
FEW = 8  # points of a line that goes round
HARDLY_OPEN = 0.8  # of how wide it is, the distance of the ends: what stands open further is no bangle


@dataclass(frozen=True, eq=False)
class Opening:
    """An opening: the feature that goes round, how wide it is left, and its middle (3,)."""

    feature: int
    wide: float
    at: Floats


def openings_of(piece: Piece) -> Iterator[Opening]:
    """The opening of every band and wire that goes round a wrist and stands open."""
    if piece.wear_measures.loops or any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE, Role.PIN)):
        return
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        if call.get("open") and inside is not None and inside.value >= WRIST[0]:
            frame = feature.frames[0]
            yield _opening(piece, feature.index, frame[:, 3], frame[:, 1])
    for feature, _ in piece.with_role(Role.WIRE):
        path = feature.look("path") if feature.body is not None and "path" in feature.offers else None
        for line in path.lines if isinstance(path, Lines) else ():
            if line.closed or len(line.points) < FEW:
                continue
            middle = (line.points.min(axis=0) + line.points.max(axis=0)) / 2
            spread, turn = np.linalg.svd(line.points - line.points.mean(axis=0), full_matrices=False)[1:]
            wide = np.ptp((line.points - middle) @ turn[:2].T, axis=0)
            apart = float(np.linalg.norm(line.points[0] - line.points[-1]))
            flat = len(spread) > 2 and spread[2] < 0.1 * spread[1]
            if flat and wide.min() > WRIST[0] and wide.max() < WRIST[1] and (
                apart < HARDLY_OPEN * wide.max()
            ):
                yield _opening(piece, feature.index, middle, turn[2])


def _opening(piece: Piece, feature: int, middle: Floats, axis: Floats) -> Opening:
    one, two = frame_of(axis)
    spots = [piece.skin_measures.skin.points]
    for k, frame in enumerate(piece.stones.frames):
        spots.append(apply(frame, stone_mesh(piece.stones.of(k).figures)[0]))
    flat = (np.concatenate(spots) - middle) @ np.stack((one, two)).T
    turn = np.sort(np.arctan2(flat[:, 1], flat[:, 0]))
    gaps = np.diff(np.append(turn, turn[0] + 2 * np.pi))
    most = int(gaps.argmax())
    way = turn[most] + gaps[most] / 2
    out, side = np.array([np.cos(way), np.sin(way)]), np.array([-np.sin(way), np.cos(way)])
    aside = flat[flat @ out > 0] @ side
    right, left = aside[aside > 0].min(initial=np.inf), aside[aside <= 0].max(initial=-np.inf)
    at = middle + float((flat @ out).max()) * (out[0] * one + out[1] * two)
    return Opening(feature, float(right - left), at)
