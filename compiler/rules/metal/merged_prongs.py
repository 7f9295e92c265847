"""merged-prongs: prongs of two heads that are one lump where they are to be pushed over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, mm, most, place, rounded_up
from ...judging.pairs import near_pairs
from ...judging.remedies import apart_from
from ...judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

PUSHED = 0.4  # of its wire below its tip, where a prong is laid over its stone


def check(piece: Piece) -> Iterator[Verdict]:
    rods, held = piece.rods, dict[int, set[int]]()
    for grip in piece.grips:
        if grip.bite > 0:
            held.setdefault(grip.rod, set()).add(grip.stone)
    rod = np.array(sorted(held), dtype=int)
    wire, tips = rods.wire[rod], (rods.foot + rods.way * rods.long[:, None])[rod]
    worked = tips - rods.way[rod] * (PUSHED * wire)[:, None]
    middle = rods.foot[rod] + rods.way[rod] * (rods.long[rod] / 2)[:, None]
    reach = float((rods.long[rod] / 2 + wire).max()) if len(rod) else 0.0
    told: set[frozenset[int]] = set()
    for i, j in zip(*near_pairs(worked, middle, reach), strict=True):
        mine, other, pair = held[int(rod[i])], held[int(rod[j])], frozenset((int(i), int(j)))
        line, beside = sorted((int(rods.feature[rod[i]]), int(rods.feature[rod[j]])), reverse=True)
        if mine & other or _head(piece, line) == _head(piece, beside) or pair in told:
            continue  # they hold one stone together, or are of one head
        along = float((worked[i] - rods.foot[rod[j]]) @ rods.way[rod[j]])
        off = worked[i] - rods.foot[rod[j]] - along * rods.way[rod[j]]
        apart, touch = float(np.linalg.norm(off)), float(wire[i] + wire[j]) / 2
        if not 0.0 < along < rods.long[rod[j]] or not 1e-6 < apart < touch:
            continue
        touch = _as_cast(piece, worked[i], off, (wire[i] / 2, wire[j] / 2))
        bound = piece.bound("merged-prongs", "most", line) * float(min(wire[i], wire[j]))
        if above(touch - apart, bound):
            told.add(pair)
            first, second = min(mine), min(other)
            lack = _lack(off, piece.stones.frames[first, :, 3] - piece.stones.frames[second, :, 3], touch)
            remedy, mend = _remedy(piece, first, second, lack)
            yield Verdict(
                f"a prong of {piece.name_of(line)} and one of {piece.name_of(beside)} are one lump where "
                "they are to be pushed over",
                line,
                f"{mm(touch - apart)} of one in the other",
                most(mm(bound)),
                remedy,
                touch - apart,
                bound,
                place=place(worked[i]),
                mend=mend,
                others=(beside,),
            )


def _head(piece: Piece, line: int) -> object:
    """What made a prong: the setting of the text's own line, else its line."""
    return next(iter(piece.call(line).within), line)


def _as_cast(piece: Piece, spot: np.ndarray, off: np.ndarray, half: tuple[float, float]) -> float:
    """How far from one another the middles of two prongs, ``off`` (3,) apart, may be for their metal to touch
    there, mm: what each is thick on the side away from the other, no more than ``half`` its wire; 0 where air
    lies between them."""
    apart = float(np.linalg.norm(off))
    way = off / apart
    grid = piece.skin_measures.skin.grid
    far = grid.cast(np.stack([spot, spot, spot - off]), np.stack([-way, way, -way]))[0]
    return float(min(far[1], half[0]) + min(far[2], half[1])) if far[0] > apart else 0.0


def _lack(off: np.ndarray, way: np.ndarray, touch: float) -> float:
    """How much farther apart, along ``way``, what is ``off`` (3,) apart clears one another, mm."""
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    along = float(off @ way)
    return float(np.sqrt(max(along**2 + touch**2 - float(off @ off), 0.0))) - along


def _remedy(piece: Piece, first: int, second: int, lack: float) -> tuple[str, Mend | None]:
    for stone in (first, second):
        line = int(piece.stones.line[stone])
        call = piece.call(line)
        if call.given("next-to"):
            gap = rounded_up(call.get("gap", 0.3) + lack)
            return f"write gap {gap} in the line of {piece.name_of(line)}", Mend("gap", gap, "least", line)
    return apart_from(piece, first, second, lack), None
