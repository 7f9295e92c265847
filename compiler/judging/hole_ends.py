"""Settings near the end of a shank or a bar: the hole drilled below them, and their foot. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.outlines import trace
from .digits import rounded_up
from .figure_rule import Reading
from .moves import move, told

if TYPE_CHECKING:
    from ..measures.kinds import Flags, Floats
    from .piece import Piece
    from .plan_solids import PlanSolid

COUNT, HEIGHTS = 72, np.linspace(0.1, 0.9, 9)  # ways round a hole, and shares of its depth
OUT = 0.01  # mm off its wall
OPEN, NOTCH = 0.02, 0.4  # share of its edge; less may be rounding, more is a setting meant for the very end
ALONG = 0.8  # cosine: a hole behind a stone looks as that does, nearly
AIR = 0.05  # mm, that what is moved off stands farther than it has to


class Beside(NamedTuple):
    """The metal beside a light hole: drilled by ``hole`` in ``metal`` for ``line``, the least ``wide``, none
    along a share of its edge, ``at`` (3,) toward ``way`` (3,), in which it stands ``inside`` of the end."""

    hole: int
    metal: int
    line: int
    wide: float
    open: float
    at: Floats
    way: Floats
    inside: float


def broken(piece: Piece) -> Iterator[Reading]:
    """A light hole that comes out through the end or the side of what it is drilled in."""
    least = float(piece.bound("thin-wall", "drilled"))
    for one in drilled(piece):
        if OPEN < one.open < NOTCH:
            yield _reading(piece, one, one.open, least)


def thin(piece: Piece) -> Iterator[Reading]:
    """A light hole with little metal between it and the end or the side of what it is drilled in."""
    for one in drilled(piece):
        if one.open <= OPEN:
            yield _reading(piece, one, one.wide, float(piece.bound("thin-wall", "drilled", one.metal)))


def _reading(piece: Piece, one: Beside, figure: float, least: float) -> Reading:
    return Reading(
        one.hole, figure, one.at, find="end", play=piece.tolerance, others=(one.metal,),
        words={"which": piece.name_of(one.line), "metal": piece.name_of(one.metal)},
        cure=partial(_inward, piece, one, least),
    )  # fmt: skip


def _inward(piece: Piece, one: Beside, least: float, _: float) -> str:
    way = told(piece, one.line, -(least + AIR - one.inside) * one.way, "in from that end")
    return f"move {piece.name_of(one.line)} {way}, or take a smaller stone"


def drilled(piece: Piece) -> Iterator[Beside]:
    """The metal beside every hole that a setting drills through what it stands on, where that is not flat
    (of flat metal see ``hole_edges``)."""
    for feature, call in piece.with_role(Role.HOLE):
        into, served = call.get("in"), sorted(piece.services.lines(feature.index))
        if not call.within or not served or not isinstance(into, Feature) or into.outline is not None:
            continue
        if call.within[:1] == piece.call(into.index).within[:1]:
            continue  # in its own metal
        for tool in piece.plan_solids:
            if tool.feature == feature.index and tool.cut and tool.bent is None:
                for frame in tool.frames[_behind(piece, tool, served)]:
                    beside = _beside(piece, tool, frame, into.index, served[0])
                    if beside is not None:
                        yield beside


def _behind(piece: Piece, tool: PlanSolid, served: list[int]) -> Flags:
    """Which copies of a tool go down behind a stone that its line serves, (n,); others open its side."""
    stones = piece.stones.frames[np.isin(piece.stones.line, served)]
    if not len(stones):
        return np.zeros(len(tool.frames), dtype=bool)
    near = np.linalg.norm(tool.frames[:, None, :, 3] - stones[None, :, :, 3], axis=2).argmin(axis=1)
    return np.asarray((tool.frames[:, :, 2] * stones[near, :, 2]).sum(axis=1) > ALONG)


def _beside(piece: Piece, tool: PlanSolid, frame: Floats, metal: int, line: int) -> Beside | None:
    """The metal beside one copy of a tool; None where it cut none."""
    skin = piece.skin_measures.skin
    wide = float(np.linalg.norm(trace(tool.figures[0]), axis=1).max())
    wall = fr.apply(fr.inverse(frame), skin.corners[skin.owner == tool.feature].reshape(-1, 3))
    wall = wall[np.hypot(wall[:, 0], wall[:, 1]) < wide + OUT]
    if not len(wall):
        return None
    turn = np.arange(COUNT) * 2 * np.pi / COUNT
    round_it = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    high = wall[:, 2].min() + np.ptp(wall[:, 2]) * HEIGHTS
    local = np.zeros((COUNT, len(high), 3))
    local[:, :, :2], local[:, :, 2] = ((wide + OUT) * round_it)[:, None], high
    start = fr.apply(frame, local.reshape(-1, 3))
    ways = np.repeat(round_it @ frame[:, :2].T, len(high), axis=0)

    def thick(along: Floats) -> Floats:
        far, met = skin.grid.cast(start, along, leaving=False)
        inside = (met >= 0) & ((skin.normals[met] * along).sum(axis=1) > 0)
        return np.where(inside, far + OUT, 0.0).reshape(COUNT, -1)

    beside = np.median(thick(ways), axis=1)
    k = _middle_of_least(beside)
    way = ways[k * len(high)]
    ends = np.median(thick(np.tile(way, (len(start), 1))), axis=1)
    ahead = round_it @ round_it[k]
    reach = (ahead * wide + ends)[(ahead >= 0) & (ends > 0)]
    inside = float(reach.min()) - wide if len(reach) else -wide
    return Beside(
        tool.feature, metal, line, float(beside[k]), float((beside <= 0).mean()), start[k * len(high)], way,
        inside,
    )  # fmt: skip


def _middle_of_least(beside: Floats) -> int:
    """The middle of the ways round in which there is least metal, as of those in which there is none."""
    least = np.flatnonzero(beside <= beside.min() + 1e-9)
    turn = np.exp(2j * np.pi * least / len(beside)).sum()
    return round(float(np.angle(turn)) / (2 * np.pi) * len(beside)) % len(beside)


FLAT, LEVEL = 0.9, 0.02  # cosine and mm, within which a face is of the flat foot of a cup
OFF = 5.0  # mm outside a foot, from where that is felt for
BELOW = 0.1  # mm under a foot, where the metal it stands on is felt for
SECTORS = np.arange(0.0, 360.0, 15.0)
MEANT = 0.9  # of the foot's own half, past which it is a setting meant for the very end
FACES = 0.8  # cosine: an end looks along the way it is past
SIDE = 0.1  # mm: farther over at the other side too, a foot is wider than what it stands on


def feet(piece: Piece) -> Iterator[Reading]:
    """The foot of a cup that stands past the end, or one side, of the metal it stands on."""
    told_of = set[int]()
    for stone, seat in sorted(piece.seated.items()):
        call = piece.call(seat)
        cup, on = call.get("in"), call.own_line.arguments.get("on") if call.within else None
        if not isinstance(cup, Feature) or on is None or not isinstance(on.value, Feature) or seat in told_of:
            continue
        if not piece.is_for(cup.index, Role.RIM):
            continue  # claws stand on rails, wherever those run
        over, at, way = _past(piece, cup.index, on.value.index, piece.stones.frames[stone])
        if over > 0:
            told_of.add(seat)
            yield Reading(
                cup.index, over, at, find="foot", play=piece.tolerance, others=(on.value.index,),
                words={"metal": piece.name_of(on.value.index)},
                cure=partial(_back_onto, piece, (cup.index, on.value.index), stone, over, way),
            )  # fmt: skip


def _back_onto(
    piece: Piece, foot: tuple[int, int], stone: int, over: float, way: Floats, bound: float
) -> str:
    """The move back by which a foot stands past no side of its metal farther than ``bound``; none where it
    then does elsewhere."""
    line, by = int(piece.stones.line[stone]), -(over - bound + AIR) * way
    moved = move(piece, line, by)
    by = by if moved is None else moved.by
    if _past(piece, *foot, piece.stones.frames[stone], by)[0] > bound:
        return f"take a smaller stone, or make {piece.name_of(foot[1])} broader"
    said = moved.in_piece if moved is not None else f"{rounded_up(over - bound + AIR)} in from that end"
    return f"move {piece.name_of(line)} {said}, or take a smaller stone"


def _past(
    piece: Piece, cup: int, metal: int, frame: Floats, by: Floats | None = None
) -> tuple[float, Floats, Floats]:
    """How far a foot stands past the metal below it at one side alone, mm, where and which way; moved ``by``
    a way (3,) to any side."""
    skin, back = piece.skin_measures.skin, fr.inverse(frame)
    mine = piece.call(cup).within[:1]
    own = np.array([piece.call(k).within[:1] == mine for k in range(len(piece.features))])[skin.owner]
    down = own & (skin.normals @ frame[:, 2] < -FLAT)
    spots = fr.apply(back, skin.corners[down].reshape(-1, 3)) if down.any() else np.zeros((0, 3))
    spots = spots[spots[:, 2] < spots[:, 2].min(initial=np.inf) + LEVEL]
    turn = np.radians(SECTORS)
    ways = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    far = (spots[:, :2] @ ways.T).max(axis=0, initial=0.0)  # of what is bare of the foot
    bare = (far > 0) & _bare_there(spots, ways)
    under = np.full(len(ways), spots[:, 2].min(initial=0.0) - BELOW)
    low = np.column_stack([ways * (far + OFF)[:, None], under])
    along = -ways @ frame[:, :2].T
    start = fr.apply(frame, low) + (0.0 if by is None else by)
    reach, met = skin.grid.cast(start, along, leaving=False, reach=OFF + far.max(initial=0.0))
    ends = (met >= 0) & (skin.owner[met] == metal) & ((skin.normals[met] * -along).sum(axis=1) > FACES)
    past = np.where(ends, reach - OFF, 0.0)
    other = np.roll(np.where(met >= 0, reach - OFF, 0.0), len(ways) // 2)
    past[(other > SIDE) & (by is None)] = 0.0
    over = np.where(bare & (past < MEANT * far), past, 0.0)
    k = int(np.where(over > 0, ways @ (over @ ways), -np.inf).argmax())
    at = fr.apply(frame, np.array([[*(far[k] * ways[k]), low[k, 2] + BELOW]]))[0]
    return float(over[k]), at, -along[k]


def _bare_there(spots: Floats, ways: Floats) -> Flags:
    """Whether any of some spots (n, 3) lies within half a sector of each way (m, 2)."""
    if not len(spots):
        return np.zeros(len(ways), dtype=bool)
    flat = spots[:, :2] / np.maximum(np.linalg.norm(spots[:, :2], axis=1), 1e-9)[:, None]
    return np.asarray((flat @ ways.T).max(axis=0) > np.cos(np.radians(7.5)))
