"""Rods, and which of them stand beside a stone as its prongs. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import LATHE, ROD
from .edges import inside_by
from .pairs import near_pairs
from .plan_solids import PlanSolid
from .stone_table import Stones, outline_of, reach_of

if TYPE_CHECKING:
    from .piece import Piece

# A wire that clears a stone by no more than this was meant to hold it.
MEANT = 0.15
# A wire leaning further than this from the stone's axis is no prong.
UPRIGHT = 0.5


@dataclass(frozen=True, eq=False)
class Rods:
    """All rods: foot and way (n, 3), wire and length (n,), their lines, and which of them are
    copies made without the stones."""

    foot: np.ndarray
    way: np.ndarray
    wire: np.ndarray
    long: np.ndarray
    feature: np.ndarray
    bare: np.ndarray


def rods_of(solids: Iterable[PlanSolid], bare: frozenset[int] = frozenset()) -> Rods:
    """The rods among single solids; ``bare`` are copies made without their stones."""
    found = [(one, _rod(one)) for one in solids if not one.cut]
    rods = [(one, size) for one, size in found if size is not None]
    if not rods:
        none, spots = np.zeros(0), np.zeros((0, 3))
        return Rods(spots, spots, none, none, none.astype(int), none.astype(bool))

    def each(values: Iterable[float]) -> np.ndarray:
        return np.repeat(np.array(list(values)), [len(one.frames) for one, _ in rods])

    frames = np.concatenate([one.frames for one, _ in rods])
    return Rods(
        frames[:, :, 3], frames[:, :, 2], each(wire for _, (wire, _) in rods),
        each(long for _, (_, long) in rods), each(one.feature for one, _ in rods).astype(int),
        each(not bare.isdisjoint(one.parts) for one, _ in rods).astype(bool),
    )


def _rod(solid: PlanSolid) -> tuple[float, float] | None:
    """Wire and length of a rod, or of a slim turned solid on its foot; else None."""
    if solid.kind == ROD:
        return float(solid.figures[0]), float(solid.figures[1])
    if solid.kind != LATHE:
        return None
    profile = np.array(solid.figures[0])
    wire, low, high = 2 * profile[:, 0].max(), profile[:, 1].min(), profile[:, 1].max()
    whole = profile[:, 0].min() < 1e-9 and abs(low) < 1e-9
    return (float(wire), float(high)) if whole and high > 1.5 * wire else None


@dataclass(frozen=True, eq=False)
class Prongs:
    """Pairs of a stone and a rod beside its girdle: ``stone`` and ``rod`` (n,) indices,
    ``bite`` how far the wire lies over the girdle (mm, negative: clear of it), ``tip`` how far
    it ends above the girdle's middle, ``spot`` (n, 3) where its axis passes that plane."""

    stone: np.ndarray
    rod: np.ndarray
    bite: np.ndarray
    tip: np.ndarray
    spot: np.ndarray

    @property
    def holding(self) -> np.ndarray:
        """Which pairs touch, (n,) flags."""
        flags: np.ndarray = self.bite > 0
        return flags


def prongs_of(
    stones: Stones, rods: Rods,
    may_hold: Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]] | None = None,
    meant: float = MEANT,
) -> Prongs:
    """Every rod that crosses a stone's girdle plane no more than ``meant`` outside its edge, of the
    pairs of a stone and a rod that ``may_hold`` flags; of those it does not flag as made for one
    another too, only rods that do not stand wholly within the girdle."""
    none = np.zeros(0, dtype=int)
    empty = Prongs(none, none, np.zeros(0), np.zeros(0), np.zeros((0, 3)))
    if not len(stones.kind) or not len(rods.wire):
        return empty
    most = max(reach_of(kind) for kind in stones.kinds)
    reach = most + float(rods.wire.max()) + meant
    middles = rods.foot + rods.way * (rods.long / 2)[:, None]
    stone, rod = near_pairs(stones.frames[:, :, 3], middles, reach + float(rods.long.max()) / 2)
    made = np.zeros(len(stone), dtype=bool)
    if may_hold is not None and len(stone):
        held, made = may_hold(stone, rod)
        stone, rod, made = stone[held], rod[held], made[held]
    frames = stones.frames[stone]
    foot = rods.foot[rod] - frames[:, :, 3]
    low = np.einsum("nij,ni->nj", frames[:, :, :3], foot)  # the foot as the stone sees it
    way = np.einsum("nij,ni->nj", frames[:, :, :3], rods.way[rod])
    upright = np.maximum(way[:, 2], 1e-9)
    along = -low[:, 2] / upright
    flat = (low + along[:, None] * way)[:, :2]
    bite = _bites(stones, stone, flat) + rods.wire[rod] / 2
    good = (way[:, 2] > UPRIGHT) & (along > 0) & (bite > -meant)
    good &= made | (bite < rods.wire[rod])
    # A tip that ends below the girdle still belongs to a prong if it comes near.
    good &= (rods.long[rod] - along) * upright > -0.5
    stone, rod, bite = stone[good], rod[good], bite[good]
    tip = (rods.long[rod] - along[good]) * upright[good]
    spot = rods.foot[rod] + along[good, None] * rods.way[rod]
    return Prongs(stone, rod, bite, tip, spot)


def _bites(stones: Stones, stone: np.ndarray, flat: np.ndarray) -> np.ndarray:
    """How far inside its stone's girdle each spot lies, mm (negative: outside)."""
    inside = np.zeros(len(stone))
    kinds = stones.kind[stone]
    for index in sorted(set(kinds.tolist())):
        chosen = kinds == index
        inside[chosen] = inside_by(outline_of(stones.kinds[index]), flat[chosen])
    return inside


def head_of(piece: Piece, line: int) -> object:
    """What made a prong: the setting of the text's own line, else its line."""
    return next(iter(piece.call(line).within), line)


def lack_along(off: np.ndarray, way: np.ndarray, touch: float) -> float:
    """How much farther apart, along ``way``, what is ``off`` (3,) apart clears one another, mm."""
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    along = float(off @ way)
    return float(np.sqrt(max(along**2 + touch**2 - float(off @ off), 0.0))) - along
