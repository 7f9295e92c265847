"""Supports: where a piece is held while it prints, and the props themselves as a mesh of their own.

A prop: a foot on the plate, a round column, a cone to the tip that touches the piece. It stands
straight below its tip where it can, leans where something is in the way, branches off a prop beside it, or
stands on the piece itself. None touches fine work (`fine`): what could be held only there is not held."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from ..measures.kinds import Flags, Floats, Ints, frame_of
from ..metal.kernel import mesh_of as mesh
from .layers import Layers
from .overhangs import Patch

if TYPE_CHECKING:
    from manifold3d import Manifold

LEANS = 16  # ways a prop may lean, all round
REACHES = (0.8, 1.6, 2.6, 4.0, 6.0)  # mm aside that it leans
STEEP = 1.4  # mm down for each of them, so that it prints by itself
TRIED = 6  # places for a tip that are tried for one place to be held
BRANCHES = 4  # props nearest to a tip that another may branch off
AIR = 0.15  # mm between a prop and the piece, but for the last fifth of its cone
PLATE, PIECE, PROP = "plate", "piece", "prop"


@dataclass(frozen=True)
class Sizes:
    """Of props, mm: ``tip`` across where it touches, ``column`` across, ``cone`` long, ``foot`` across,
    ``apart`` from tip to tip, ``lift`` of the piece off the plate, ``bite`` of a tip into the piece."""

    tip: float
    column: float
    cone: float
    foot: float
    apart: float
    lift: float
    bite: float


@dataclass(frozen=True, eq=False)
class Prop:
    """``spots``: from its foot up to its tip, (k, 3) mm in the build frame, and how ``wide`` it is at each
    (k,), as a radius. It ``stands`` on the plate, the piece or another prop."""

    spots: Floats
    wide: Floats
    stands: str

    @property
    def tip(self) -> Floats:
        """Where it touches, (3,)."""
        return np.asarray(self.spots[-1])


def held(
    layers: Layers, patches: Sequence[Patch], sizes: Sizes, allowed: Callable[[Floats], Flags],
    touched: Callable[[Manifold], bool], stood: Sequence[Prop] = (),
) -> tuple[list[Prop], list[Patch]]:
    """Props for all patches beside those that have ``stood`` there, and what of the patches none holds.

    Lowest cells first: each cell of a patch lies within ``apart`` of a tip where that can be had. Where a
    cell may not be touched (``allowed``), or a prop to it would touch what it may not (``touched``), the
    nearest ones are tried: of an island any of its cells, then beside it (it runs into the tip as it
    grows), else those within half of ``apart``."""
    made: list[Prop] = []
    left: list[Patch] = []
    for patch in patches:
        spots = layers.at(patch.cells) - (0.0, 0.0, layers.height / 2)
        may = allowed(spots)
        middle = spots[patch.cells[:, 2] == patch.layer].mean(axis=0)
        order = np.lexsort((np.linalg.norm(spots - middle, axis=1).round(6), patch.cells[:, 2]))
        open_, bare = np.ones(len(spots), dtype=bool), np.ones(len(spots), dtype=bool)
        for k in order.tolist():
            if not open_[k]:
                continue
            off = np.linalg.norm(spots - spots[k], axis=1)
            near = np.flatnonzero(may & (off <= (np.inf if patch.island else sizes.apart / 2)))
            near = near[np.argsort(off[near].round(6), kind="stable")]
            at = spots[near[np.linspace(0, len(near) - 1, min(TRIED, len(near))).astype(int)]]
            if patch.island:
                beside = spots[k] + _ring(sizes.tip / 2 + layers.pixel)
                at = np.concatenate((at, beside[allowed(beside)]))
            found = (_prop(layers, one, sizes, (*stood, *made), touched) for one in at)
            prop = next((one for one in found if one is not None), None)
            if prop is None:
                open_ &= off > sizes.apart / 2
                continue
            made.append(prop)
            far = np.linalg.norm(spots - prop.tip, axis=1) > sizes.apart
            open_, bare = open_ & far, bare & far
            open_[k] = False
        if bare.any():
            left.append(patch.some(bare, layers))
    return made, left


def _prop(
    layers: Layers, tip: Floats, sizes: Sizes, made: Sequence[Prop], touched: Callable[[Manifold], bool]
) -> Prop | None:
    neck = tip - (0.0, 0.0, min(sizes.cone, max(float(tip[2]) - 0.2, 0.2)))
    cone = np.stack((neck, tip))
    if touched(_solid(Prop(cone, _wide(cone, PROP, sizes), PROP), sizes)):
        return None
    for spots, stands in _ways(layers, neck, tip, sizes, made):
        prop = Prop(spots, _wide(spots, stands, sizes), stands)
        if _free(layers, prop) and not touched(_solid(prop, sizes)):
            return prop
    return None


def _ways(
    layers: Layers, neck: Floats, tip: Floats, sizes: Sizes, made: Sequence[Prop]
) -> Iterator[tuple[Floats, str]]:
    """Ways up to a tip by its neck, (k, 3), each with what it stands on, the plainest first."""
    flat = np.array((1.0, 1.0, 0.0))
    yield np.stack((neck * flat, neck, tip)), PLATE
    leans = _ring(1.0, LEANS) - (0.0, 0.0, STEEP)
    for foot in (neck + reach * lean for reach in REACHES for lean in leans):
        if foot[2] >= 0.3:
            yield np.stack((foot * flat, foot, neck, tip)), PLATE
    stems = [one.spots[:2] for one in made if one.stands == PLATE]
    for low, high in sorted(stems, key=lambda stem: float(np.linalg.norm((stem[0] - neck)[:2])))[:BRANCHES]:
        off = float(np.linalg.norm((low - neck)[:2]))
        up = min(float(neck[2]) - STEEP * off, float(high[2]))
        if up >= 0.3 and off > sizes.column / 2:
            yield np.stack((low * flat + (0.0, 0.0, up), neck, tip)), PROP
    for way in np.concatenate((((0.0, 0.0, -1.0),), leans * (0.5, 0.5, 1.0), leans)):
        foot = _landing(layers, tip, way / np.linalg.norm(way))
        if foot is not None:
            yield np.stack((foot, (foot + tip) / 2, tip)), PIECE


def _ring(radius: float, count: int = 8) -> Floats:
    """Steps aside, all round, (count, 3)."""
    angles = np.arange(count) * 2 * np.pi / count
    return radius * np.stack((np.cos(angles), np.sin(angles), np.zeros(count)), axis=1)


def _landing(layers: Layers, tip: Floats, way: Floats) -> Floats | None:
    """Where a line from a tip meets the piece below it, if it does before the plate."""
    step = min(layers.pixel, layers.height)
    line = tip + np.arange(0.3, float(tip[2]) / -way[2], step)[:, None] * way
    met = np.flatnonzero(_metal(layers, line))
    return line[met[0]] if len(met) and met[0] else None


def _wide(spots: Floats, stands: str, sizes: Sizes) -> Floats:
    """How wide a prop is at its spots, (k,): thinner where it is too short for its cones."""
    tip, column = sizes.tip / 2, sizes.column / 2
    if stands == PIECE:
        share = min(1.0, float(np.linalg.norm(spots[0] - spots[-1])) / (2 * sizes.cone))
        return np.array((tip, tip + share * (column - tip), tip))
    return np.append(np.full(len(spots) - 1, column), tip)


def _free(layers: Layers, prop: Prop) -> bool:
    """Whether a prop stays clear of the piece, but for its tip (and where it stands on it)."""
    spots, wide = prop.spots, prop.wide
    for k, (a, b) in enumerate(pairwise(spots)):
        first = 0.2 if k == 0 and prop.stands == PIECE else 0.0
        last = 0.8 if k == len(spots) - 2 else 1.0
        count = max(int(np.linalg.norm(b - a) / (2 * layers.height)), 2)
        share = np.linspace(first, last, count)[:, None]
        clear = 1 - share if last < 1 else share if first else 1
        room = wide[k] + share * (wide[k + 1] - wide[k]) + AIR * clear
        one, two = frame_of(b - a)
        angle = np.arange(8)[:, None, None] * np.pi / 4
        side = room * (np.cos(angle) * one + np.sin(angle) * two)
        line = a + share * (b - a)
        if _metal(layers, np.concatenate((line, (line + side).reshape(-1, 3)))).any():
            return False
    return True


def _metal(layers: Layers, spots: Floats) -> Flags:
    size = np.array((layers.pixel, layers.pixel, layers.height))
    cell = np.rint((spots - layers.low) / size).astype(np.int64)
    inside = ((cell >= 0) & (cell < layers.solid.shape)).all(axis=1)
    return np.asarray(inside & layers.solid[tuple(np.where(inside[:, None], cell, 0).T)])


def mesh_of(made: Sequence[Prop], sizes: Sizes) -> tuple[Floats, Ints]:
    """All props as one closed mesh: points (n, 3) mm, triangles (m, 3)."""
    from manifold3d import Manifold, OpType

    return mesh(Manifold.batch_boolean([_solid(prop, sizes) for prop in made], OpType.Add))


def _solid(prop: Prop, sizes: Sizes) -> Manifold:
    from manifold3d import Manifold, OpType

    last = len(prop.spots) - 2
    parts: list[Manifold] = []
    if prop.stands == PLATE:
        foot = Manifold.cylinder(0.5, sizes.foot / 2, circular_segments=24)
        parts.append(foot.translate(prop.spots[0].tolist()))
    for k, (a, b) in enumerate(pairwise(prop.spots)):
        way = (b - a) / np.linalg.norm(b - a)
        end = b + way * sizes.bite if k == last else b
        start = a - way * sizes.bite if prop.stands == PIECE and k == 0 else a
        first, second = prop.wide[k : k + 2].tolist()
        rod = Manifold.cylinder(float(np.linalg.norm(end - start)), first, second, circular_segments=16)
        parts.append(rod.transform(np.column_stack((*frame_of(way), way, start))))
        if k < last:
            parts.append(Manifold.sphere(second, circular_segments=16).translate(b.tolist()))
    return Manifold.batch_boolean(parts, OpType.Add)
