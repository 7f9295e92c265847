"""Points of stones that stand in metal, as the plan alone tells it: in a band, or in a flat body. Lengths mm.

What is told so is so: a stone that any cut of that metal may be for is left to the measures on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..bench.feature import Feature
from ..bench.opening import is_open, opened
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from .beds import SQUARE, is_flat, lies
from .edges import inside_by
from .figures import figure
from .piece import Piece
from .stone_table import pavilion_of

POINTED = 0.3  # mm of pavilion, a stone with less is flat below
INSIDE = 0.1  # mm, a point so far from the edge of a body stands in it

Found = tuple[np.ndarray, np.ndarray, np.ndarray]


@dataclass(frozen=True)
class InMetal:
    """A stone that stands ``deep`` in the metal of a line; how much ``room`` is from its point to the edge of
    that, where the plan tells; whether that is its ``point`` alone."""

    stone: int
    metal: int
    deep: float
    room: float | None
    point: bool


def in_metal_ahead(piece: Piece) -> Iterator[InMetal]:
    """Every stone whose point stands in a body that no cut opens there."""
    stones = piece.stones
    kinds = [stones.of(k) for k in range(len(stones.kind))]
    chosen = np.array([
        k for k, kind in enumerate(kinds)
        if kind.cut != "pearl" and kind.pavilion() > POINTED and stones.line[k] == stones.feature[k]
    ], dtype=int)  # fmt: skip
    if not len(chosen):
        return
    frames = stones.frames[chosen]
    spots = [
        frames[:, :, 3] + np.array([[off(kinds[k])] for k in chosen]) * frames[:, :, 2]
        for off in (lambda kind: -pavilion_of(kind), lambda kind: 0.0, lambda kind: kind.crown())
    ]
    bent = {one.feature for one in piece.plan_solids if one.bent}
    for body in piece.features:
        if body.body is None or body.index in bent or len(body.frames) != 1:
            continue
        into = fr.inverse(body.frames[0])
        tips, girdles, tables = (fr.apply(into, one) for one in spots)
        found = _in_band(piece, body, tips, girdles) or _in_flat(piece, body, tips, girdles, tables)
        if found is None:
            continue
        deep, above, room = found
        least = piece.bound("stone-in-metal", "axis", body)
        for k in np.flatnonzero((deep > least) & (room > INSIDE)).tolist():
            if not _opened(piece, body, int(chosen[k]), spots[0][k]):
                yield InMetal(int(chosen[k]), body.index, float(deep[k]), float(room[k]), bool(above[k] > 0))


def _in_band(piece: Piece, body: Feature, tips: np.ndarray, girdles: np.ndarray) -> Found | None:
    """How deep points stand in the metal of a band, how far their girdles above it, and how far they are from
    its edges, (n,) each; None of another body."""
    if not piece.is_for(body.index, Role.EVEN_SHANK):
        return None
    shank = body.surface.shank
    deep, room = lies(body, tips)
    thick = [shank.at(float(angle))[1] for angle in np.arctan2(tips[:, 0], tips[:, 2])]
    return np.minimum(deep, thick), -lies(body, girdles)[0], room


def _in_flat(
    piece: Piece, body: Feature, tips: np.ndarray, girdles: np.ndarray, tables: np.ndarray
) -> Found | None:
    """The same of a flat body, into which stones look straight; None of another one."""
    tube = figure(piece.call(body.index), FigureOf.INSIDE) is not None
    if body.outline is None or tube or not is_flat(body):
        return None
    way = tables - tips
    square = np.abs(way[:, 2]) > SQUARE * np.linalg.norm(way, axis=1)
    high, low = (side(tips[:, 2], tables[:, 2]) for side in (np.maximum, np.minimum))
    deep = np.minimum(high, body.high) - np.maximum(low, body.low)
    above = np.where(way[:, 2] > 0, girdles[:, 2] - body.high, body.low - girdles[:, 2])
    room, near = np.zeros(len(tips)), square & (deep > 0)
    room[near] = inside_by(body.outline, tips[near, :2]) if near.any() else 0.0
    return deep, above, room


def _opened(piece: Piece, body: Feature, stone: int, spot: np.ndarray) -> bool:
    """Whether a cut of that body may pass a spot."""
    seat = piece.seated.get(stone)
    if seat is not None and _aims(piece, seat, (), body, ()):
        return True
    added = (one.parts for one in piece.plan_solids if one.feature == body.index and not one.cut)
    mine = next(added, ())
    for tool in piece.plan_solids:
        if not tool.cut or not _aims(piece, tool.feature, tool.parts, body, mine):
            continue
        shape = Shape(tool.kind, tool.figures)
        mesh = piece.mesh_of(opened(shape, 1.0, 1.0) if is_open(shape) else shape, piece.tolerance)
        reach = float(np.hypot(*mesh.points[:, :2].T).max())
        local = ((spot - tool.frames[:, :, 3])[:, None] @ tool.frames[:, :, :3])[:, 0]
        if (np.hypot(local[:, 0], local[:, 1]) < reach).any():
            return True
    return False


def _aims(piece: Piece, cut: int, parts: tuple[int, ...], body: Feature, mine: tuple[int, ...]) -> bool:
    """Whether a cut is made in a body: it is told so, or it cuts all that stood in the same groups."""
    into = piece.call(cut).get("in")
    if isinstance(into, Feature):
        return body.body in into.bodies()
    return cut > body.index and mine[: len(parts)] == parts
