"""Prongs grown together with one another or with a wall, where they are to be pushed over."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above
from ...judging.figure_rule import Reading
from ...judging.moves import move
from ...judging.pairs import near_pairs
from ...judging.prongs import head_of, lack_along
from ...judging.rule import Mend
from ...judging.stones_apart import apart_from
from ...measures.kinds import Floats, Ints, frame_of

if TYPE_CHECKING:
    from ...judging.piece import Piece

PUSHED = 0.4  # of its wire below its tip, where a prong is laid over its stone
ROUND = 24  # ways round a prong, looked along for metal that goes on past its wire
RUBBED = 0.1  # mm below its rim, where a wall is laid over
PAST = 0.03  # mm, farther than its wire: chords and the fillet at a joint are no other metal
CLEAR = 0.05  # mm of air, so that the two are parted in print


def check(piece: Piece) -> Iterator[Reading]:
    """Prongs that are one lump with one of another head, or with a wall, where they are to be pushed over."""
    held = dict[int, set[int]]()
    for grip in piece.grips:
        if grip.bite > 0:
            held.setdefault(grip.rod, set()).add(grip.stone)
    rod = np.array(sorted(held), dtype=int)
    worked = _worked(piece, rod)
    yield from _in_one_another(piece, held, rod, worked)
    yield from _in_walls(piece, held, rod, worked)


def _worked(piece: Piece, rod: Ints) -> Floats:
    """Where each prong is laid over, on its axis, (n, 3)."""
    rods = piece.rods
    return np.asarray(rods.foot[rod] + rods.way[rod] * (rods.long - PUSHED * rods.wire)[rod, None])


def _in_one_another(piece: Piece, held: dict[int, set[int]], rod: Ints, worked: Floats) -> Iterator[Reading]:
    rods, wire = piece.rods, piece.rods.wire[rod]
    middle = rods.foot[rod] + rods.way[rod] * (rods.long[rod] / 2)[:, None]
    reach = float((rods.long[rod] / 2 + wire).max()) if len(rod) else 0.0
    for i, j in zip(*near_pairs(worked, middle, reach), strict=True):
        mine, other, pair = held[int(rod[i])], held[int(rod[j])], frozenset((int(i), int(j)))
        line, beside = sorted((int(rods.feature[rod[i]]), int(rods.feature[rod[j]])), reverse=True)
        if mine & other or head_of(piece, line) == head_of(piece, beside):
            continue  # they hold one stone together, or are of one head
        along = float((worked[i] - rods.foot[rod[j]]) @ rods.way[rod[j]])
        off = worked[i] - rods.foot[rod[j]] - along * rods.way[rod[j]]
        apart, touch = float(np.linalg.norm(off)), float(wire[i] + wire[j]) / 2
        if not 0.0 < along < rods.long[rod[j]] or not 1e-6 < apart < touch:
            continue
        touch = _as_cast(piece, worked[i], off, (wire[i] / 2, wire[j] / 2))
        bound = piece.bound("merged-prongs", "most", line) * float(min(wire[i], wire[j]))
        if above(touch - apart, bound):
            first, second = min(mine), min(other)
            spots = piece.stones.frames[:, :, 3]
            lack = lack_along(off, spots[first] - spots[second], touch)
            yield Reading(
                line, touch - apart, worked[i], bound=bound, others=(beside,), once=pair,
                cure=apart_from(piece, first, second, lack),
            )  # fmt: skip


def _as_cast(piece: Piece, spot: np.ndarray, off: np.ndarray, half: tuple[float, float]) -> float:
    """How far from one another the middles of two prongs, ``off`` (3,) apart, may be for their metal to touch
    there, mm: what each is thick on the side away from the other, no more than ``half`` its wire; 0 where air
    lies between them."""
    apart = float(np.linalg.norm(off))
    way = off / apart
    grid = piece.skin_measures.skin.grid
    far = grid.cast(np.stack([spot, spot, spot - off]), np.stack([-way, way, -way]))[0]
    return float(min(far[1], half[0]) + min(far[2], half[1])) if far[0] > apart else 0.0


def _in_walls(piece: Piece, held: dict[int, set[int]], rod: Ints, worked: Floats) -> Iterator[Reading]:
    """Prongs that stand in a wall that was not made for their stones, or in other metal than prongs."""
    if not len(rod):
        return
    rods, skin = piece.rods, piece.skin_measures.skin
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    for one, at in (*zip(rod.tolist(), worked, strict=True), *_at_rims(piece, held)):
        side, up = frame_of(rods.way[one])
        ways = np.cos(turn)[:, None] * side + np.sin(turn)[:, None] * up
        far, met = skin.grid.cast(np.tile(at, (ROUND, 1)), ways)
        line, half = int(rods.feature[one]), float(rods.wire[one]) / 2
        past = np.flatnonzero((far > half + PAST) & (met >= 0))
        other = _wall_of(piece, line, held[one], skin.owner[met[past]])
        if other < 0 or len(past) == ROUND:
            continue
        lump = half * (1.0 - float(np.cos(np.pi * len(past) / ROUND)))
        bound = piece.bound("merged-prongs", "most", line) * 2 * half
        if above(lump, bound):
            yield Reading(
                line, lump, at, find="wall", bound=bound, others=(other,),
                cure=_off_it(piece, min(held[one]), other, ways[past].mean(axis=0), lump + CLEAR),
            )  # fmt: skip


def _at_rims(piece: Piece, held: dict[int, set[int]]) -> Iterator[tuple[int, Floats]]:
    """Prongs that pass the rim of another stone's wall, which is to be rubbed over: its number, and where."""
    rods, frames = piece.rods, piece.stones.frames
    for wall, one in product(piece.bezels, sorted(held)):
        middle, up = frames[wall.stone, :, 3], frames[wall.stone, :, 2]
        rim = float((middle - rods.foot[one]) @ up) + wall.lip - RUBBED
        far = rim / max(float(rods.way[one] @ up), 1e-9)
        spot = rods.foot[one] + far * rods.way[one]
        reach = piece.stone_measures.form(wall.stone).rim.max() + wall.wall + rods.wire[one]
        passes = 0.0 < far < rods.long[one] and np.linalg.norm(spot - middle) < reach
        if passes and wall.stone not in held[one]:
            yield one, spot


def _wall_of(piece: Piece, line: int, stones: set[int], owners: Ints) -> int:
    """Which metal most of the faces behind a prong are of, that was not made with it or for its stones and is
    no prong; -1 where none is."""
    mine = {int(piece.stones.line[one]) for one in stones}
    walls = [
        one for one in owners.tolist()
        if one >= 0 and head_of(piece, one) != head_of(piece, line) and not piece.is_for(one, Role.PRONG)
        and not mine & piece.services.lines(one)
    ]  # fmt: skip
    return max(walls, key=walls.count) if 2 * len(walls) > len(owners) else -1


def _off_it(piece: Piece, stone: int, wall: int, way: Floats, lack: float) -> str | tuple[str, Mend | None]:
    """What parts a prong's stone from a wall that stands ``way`` (3,) off: the stone of that wall and its own
    farther apart, else its own moved."""
    lines = piece.services.lines(wall)
    others = np.flatnonzero(np.isin(piece.stones.line, sorted(lines)))
    spots = piece.stones.frames[:, :, 3]
    if len(others):
        off = np.linalg.norm(spots[others] - spots[stone], axis=1)
        return apart_from(piece, int(others[off.argmin()]), stone, lack)
    line = int(piece.stones.line[stone])
    moved = move(piece, line, -lack * way / max(float(np.linalg.norm(way)), 1e-9))
    return "" if moved is None else f"move {piece.name_of(line)} {moved.in_piece}"
