"""The metal each stone lies in: how deep it sits, what is below it and beside it. Lengths mm.

A bed is a flat body (bar, disc, plate, tube) or the shank of a ring; curved bodies are left to the measures
on the metal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..bench.feature import Feature
from ..bench.laid import innermost
from ..bench.roles import FigureOf, Role
from ..bench.worked import fallen
from ..geometry import frames as fr
from ..geometry.outlines import trace
from ..geometry.surfaces import Flat
from .edges import inside_by
from .figures import figure
from .pairs import near_pairs
from .stone_table import Stones, outline_of, pavilion_of

if TYPE_CHECKING:
    from .piece import Piece

# A stone's axis and a face that agree within this cosine count as square to each other.
SQUARE = 0.98
LEANS = 0.7  # the same of a stone sunk flush: however it leans, metal is to stand over its girdle all round
PROUD = 0.25  # of its width, a girdle so far above a band lies in other metal


@dataclass(frozen=True)
class Bed:
    """One stone in one body: ``sunk`` is how far its girdle lies below the face, where it lies
    least deep (negative: above), ``below`` the metal from there to the back or to the roof of a hollow,
    ``edge`` the metal between the girdle and the nearest edge (negative: past it)."""

    stone: int
    body: int
    sunk: float
    below: float
    edge: float
    tube: bool
    ring: bool


BEHIND = Role.EAR_POST, Role.PIN  # no stone is set in what stands behind a piece


def beds_of(piece: Piece) -> list[Bed]:
    """The best bed of every stone that has one, by stone."""
    best: dict[int, Bed] = {}
    blocks = piece.bench.blocks
    for feature in piece.features:
        if feature.body is None or not len(piece.stones.kind) or piece.is_for(feature.index, *BEHIND):
            continue
        for bed in _in_body(piece, feature):
            if blocks and _apart(piece, bed, blocks):
                continue
            known = best.get(bed.stone)
            if known is None or _rank(bed) < _rank(known):
                best[bed.stone] = bed
    return [best[stone] for stone in sorted(best)]


def _apart(piece: Piece, bed: Bed, blocks: Sequence[str]) -> bool:
    """Whether the seat of the stone is cut in another casting than the body is of."""
    seat = piece.seated.get(bed.stone)
    if seat is None:
        return False
    into = piece.call(seat).get("in")
    cut = into.index if isinstance(into, Feature) and into.index >= 0 else seat
    cast, own = (innermost(blocks, piece.call(one).name) for one in (cut, bed.body))
    return cast != own


def _rank(bed: Bed) -> tuple[bool, bool, float]:
    """Which of several bodies a stone lies in: one that comes up to its girdle, no tube, the
    one that reaches furthest round it."""
    return (bed.sunk < -0.05, bed.tube, -bed.edge)


def _in_body(piece: Piece, feature: Feature) -> Iterator[Bed]:
    if piece.is_for(feature.index, Role.EVEN_SHANK):
        yield from _in_band(piece, feature)
    elif feature.outline is not None and is_flat(feature):
        tube = figure(piece.call(feature.index), FigureOf.INSIDE) is not None
        yield from _in_flat(piece, feature, tube)


def is_flat(feature: Feature) -> bool:
    """Whether a body has an even thickness between two flat faces."""
    flat = feature.surface is None or isinstance(feature.surface, Flat)
    return flat and feature.high > feature.low


def _pairs(stones: Stones, feature: Feature, reach: float) -> tuple[np.ndarray, np.ndarray]:
    return near_pairs(stones.frames[:, :, 3], feature.frames[:, :, 3], reach)


def _in_flat(piece: Piece, feature: Feature, tube: bool) -> Iterator[Bed]:
    assert feature.outline is not None
    stones = piece.stones
    points = trace(feature.outline, 0.05)
    reach = float(np.abs(points).max()) * 1.5 + feature.high - feature.low + 5.0
    stone, home = _pairs(stones, feature, reach)
    if not len(stone):
        return
    own = feature.frames[home]
    at = np.einsum("nij,ni->nj", own[:, :, :3], stones.frames[stone][:, :, 3] - own[:, :, 3])
    turn = np.einsum("nij,nik->njk", own[:, :, :3], stones.frames[stone][:, :, :3])
    up = turn[:, 2, 2]
    low, high = feature.low, feature.high
    sunk = np.where(up > 0, high - at[:, 2], at[:, 2] - low)
    thick = high - low
    deep = np.array([pavilion_of(stones.of(int(s))) for s in stone])
    near = (np.abs(up) > SQUARE) & (sunk > -deep) & (sunk < thick)
    edge = _edges(stones, stone[near], feature.outline, at[near], turn[near])
    roof = piece.roofs.get(feature.index)
    lost = np.where(up[near] > 0, _lost(feature, at[near]), 0.0)
    for s, k, gap, way, less in zip(stone[near], sunk[near], edge, up[near], lost, strict=True):
        if gap > -stones.of(int(s)).width / 2 and less < thick:  # else nothing is left of it there
            below = (thick if roof is None or way < 0 else roof) - k
            yield Bed(int(s), feature.index, float(k - less), float(below), float(gap), tube, False)


def _lost(feature: Feature, at: np.ndarray) -> np.ndarray:
    """How far the face of a flat body was sunk over spots (n, 3)."""
    up = np.tile((0.0, 0.0, 1.0), (len(at), 1))
    return fallen(feature.worked, at * (1.0, 1.0, 0.0) + feature.high * up, up)


def lies(feature: Feature, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far below the face of a band, as it is now, and how far inside its edges points (n, 3) lie."""
    deep, room = feature.surface.lies(points)
    outs = points * (1.0, 0.0, 1.0) / np.hypot(points[:, 0], points[:, 2])[:, None]
    return deep - fallen(feature.worked, points + deep[:, None] * outs, outs), room


def _edges(
    stones: Stones, stone: np.ndarray, outline: tuple[Any, ...], at: np.ndarray, turn: np.ndarray
) -> np.ndarray:
    """Metal between each girdle and the outline, (n,)."""
    middle = inside_by(outline, at[:, :2])
    kinds = stones.kind[stone]
    edge = np.empty(len(stone))
    for index in sorted(set(kinds.tolist())):
        chosen = kinds == index
        setting = stones.kinds[index]
        if setting.cut == "round":
            edge[chosen] = middle[chosen] - setting.width / 2
            continue
        girdle = trace(outline_of(setting), 0.03)
        spots = np.einsum("nij,mj->nmi", turn[chosen][:, :2, :2], girdle) + at[chosen][:, None, :2]
        inside = inside_by(outline, spots.reshape(-1, 2)).reshape(spots.shape[:2])
        edge[chosen] = inside.min(axis=1)
    return edge


def _in_band(piece: Piece, feature: Feature) -> Iterator[Bed]:
    call = piece.call(feature.index)
    wide, thick = call.get("wide"), call.get("thick")
    inside = feature.look("inside")
    if wide is None or thick is None or inside is None:
        return
    inner, stones = inside.value / 2, piece.stones
    stone, home = _pairs(stones, feature, inner + thick + 5.0)
    for s, h in zip(stone, home, strict=True):
        local = fr.compose(fr.inverse(feature.frames[h])[None], stones.frames[s][None])[0]
        radial = float(np.hypot(local[0, 3], local[2, 3]))
        laid = feature.surface.laid(local[None, :, 3]) if radial >= inner else None
        if laid is None:
            continue
        looks = laid[1][0]
        upright = float(looks[0] * local[0, 3] + looks[2] * local[2, 3]) / radial
        setting = stones.of(int(s))
        girdle = trace(outline_of(setting), 0.03)
        around = local[:, 3] + girdle @ local[:, :2].T
        # On a face that bends away the lowest side of the girdle tells how deep the stone lies, square to it.
        deep, room = lies(feature, around)
        sunk = float(deep.min()) * upright
        square = LEANS if piece.is_for(piece.seated.get(int(s), feature.index), Role.RIM) else SQUARE
        if float(looks @ local[:, 2]) < square or sunk < -PROUD * setting.width:
            continue
        if room.min() > -wide / 2:
            yield Bed(int(s), feature.index, sunk, radial - inner, float(room.min()), False, True)


__all__ = ["Bed", "beds_of", "is_flat", "lies"]
