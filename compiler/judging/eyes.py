"""Holes drilled to hang a piece by, which has no loop of its own: the eye of a medal or a tag.

A round hole is one where it goes through, nothing stands in or over it, and it lies near an edge, away from
the middle. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..measures.kinds import Floats, frame_of

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from .hanging import Loop
    from .piece import Piece

FEW = 2  # more holes of one line are a pattern
NEAR = 2.0  # metal beside an eye, of its diameter, at most
ASIDE = 0.5  # and of the metal on its other side
WAYS = np.linspace(0.0, 2 * np.pi, 32, endpoint=False)


def tight_holes(piece: Piece, loops: Iterable[Loop]) -> Iterator[tuple[Loop, int, float]]:
    """Loops whose wire goes through a drilled hole: the hole's feature, and the least room between
    wire and hole, mm (negative: none)."""
    turns = np.append(WAYS, 0.0)[:, None]
    for feature, call in piece.with_role(Role.HOLE):
        across = call.get("across")
        for loop, frame in product(loops, feature.frames):
            radius = (loop.inside + loop.wire) / 2
            apart = float(np.linalg.norm(loop.middle - frame[:, 3]))
            if across is None or loop.feature == feature.index or not abs(apart - radius) < 2 * radius:
                continue
            middle = _mid_way(piece, feature, frame, across)
            if middle is None:
                continue
            one, two = loop.across
            line = loop.middle - middle + radius * (np.cos(turns) * one + np.sin(turns) * two)
            line = line @ frame[:, :3]
            passed = np.flatnonzero(line[:-1, 2] * line[1:, 2] < 0)
            share = line[passed, 2] / (line[passed, 2] - line[passed + 1, 2])
            spots = line[passed] + share[:, None] * (line[passed + 1] - line[passed])
            off = float(np.hypot(spots[:, 0], spots[:, 1]).min(initial=np.inf))
            if off < across / 2:
                yield loop, feature.index, across / 2 - off - loop.wire / 2


def eyes_of(piece: Piece) -> Iterator[tuple[int, Floats, Floats, float, float]]:
    """Feature, middle (3,), axis (3,), inside diameter and the metal beside every eye; none where the
    piece is worn by something else."""
    if not any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL, Role.SHANK)):
        yield from holes_near_edges(piece)


def holes_near_edges(piece: Piece, few: float = FEW) -> Iterator[tuple[int, Floats, Floats, float, float]]:
    """Those holes, as ``eyes_of`` tells them, whatever the piece is worn by: a jacket hangs by one. Of
    lines of more than ``few`` none."""
    for feature, call in piece.with_role(Role.HOLE):
        across = call.get("across")
        if len(feature.frames) > few or call.given("deep") or across is None:
            continue
        for frame in feature.frames:
            middle = _mid_way(piece, feature, frame, across)
            if middle is None or _stone_over(piece, middle, across, _wall_spot(frame[:, 2], middle, across)):
                continue
            beside, beyond = _beside(piece, middle, frame[:, 2], across)
            if 0 < beside < min(NEAR * across, ASIDE * beyond):
                yield feature.index, middle, frame[:, 2], across, beside


def _mid_way(piece: Piece, feature: Feature, frame: Floats, across: float) -> Floats | None:
    """The middle of a hole's wall, from mouth to mouth; None where nothing is left of it."""
    skin = piece.skin_measures.skin
    wall = skin.corners[skin.owner == feature.index].reshape(-1, 3) - frame[:, 3]
    high = wall @ frame[:, 2]
    here = np.linalg.norm(wall - high[:, None] * frame[:, 2], axis=1) < across
    if not here.any():
        return None
    middle = (high[here].min() + high[here].max()) / 2
    return np.asarray(frame[:, 3] + middle * frame[:, 2])


def _stone_over(piece: Piece, middle: Floats, across: float, wall: Floats) -> bool:
    """Whether a stone of the casting whose metal a spot of the hole's ``wall`` is of stands so near that the
    hole is its light hole."""
    away = np.linalg.norm(piece.stones.frames[:, :, 3] - middle, axis=1)
    near = [k for k, gap in enumerate(away.tolist()) if gap < max(across, piece.stones.of(k).width)]
    at = piece.casting_measures.casting_at
    alone = len(piece.casting_measures.castings) == 1
    return any(alone or at(piece.stones.frames[k, :, 3]) is at(wall) for k in near)


def _wall_spot(axis: Floats, middle: Floats, across: float) -> Floats:
    """A spot of the wall of a hole (3,)."""
    return np.asarray(middle + across / 2 * frame_of(axis)[0])


def _beside(piece: Piece, middle: Floats, axis: Floats, across: float) -> tuple[float, float]:
    """The least metal from a hole's edge to the outside of its body, and how much on the other side."""
    one, two = frame_of(axis)
    ways = np.cos(WAYS)[:, None] * one + np.sin(WAYS)[:, None] * two
    castings = piece.casting_measures
    body = castings.body_at(_wall_spot(axis, middle, across)) if len(castings.bodies) > 1 else None
    skin = piece.skin_measures.skin if body is None else castings.bodies[body].skin
    reach = ((skin.points - middle) @ ways.T).max(axis=0) - across / 2
    least = int(reach.argmin())
    return float(reach[least]), float(reach[(least + len(WAYS) // 2) % len(WAYS)])
