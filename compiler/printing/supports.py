"""Supports: where a piece is held while it prints, and the props themselves as a mesh of their own.

A prop: a foot on the plate, a round column, a cone to the tip that touches the piece. It stands
straight below its tip where it can, leans where something is in the way, and stands on the piece
itself where nothing else is left.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import Flags, Floats, Ints, frame_of
from .layers import Layers
from .overhangs import Patch

LEANS = 16  # ways a prop may lean, all round
BITE = 0.1  # mm that a tip reaches into the piece, so that it holds


@dataclass(frozen=True)
class Sizes:
    """Of props, mm: ``tip`` across where it touches, ``column`` across, ``cone`` long, ``foot`` across,
    ``apart`` from tip to tip, ``lift`` of the piece off the plate."""

    tip: float = 0.35
    column: float = 0.8
    cone: float = 1.2
    foot: float = 2.2
    apart: float = 2.2
    lift: float = 3.0


@dataclass(frozen=True, eq=False)
class Prop:
    """``spots``: from the foot up to the tip, (k, 3) mm in the build frame. ``on_piece``: it stands on
    the piece. ``refused``: its tip is where none should be."""

    spots: Floats
    on_piece: bool = False
    refused: bool = False

    @property
    def tip(self) -> Floats:
        """Where it touches, (3,)."""
        return np.asarray(self.spots[-1])


def tips(
    layers: Layers, patches: Sequence[Patch], apart: float, allowed: Callable[[Floats], Flags]
) -> list[tuple[Floats, bool]]:
    """Where tips go, each with whether it may: every cell of a patch lies within ``apart`` of one.

    Lowest cells first. Where a cell may not be touched, the nearest one that may and is no
    farther than half of ``apart`` takes its place."""
    found: list[tuple[Floats, bool]] = []
    for patch in patches:
        spots = layers.at(patch.cells) - (0.0, 0.0, layers.height / 2)
        may = allowed(spots)
        middle = spots[patch.cells[:, 2] == patch.layer].mean(axis=0)
        order = np.lexsort((np.linalg.norm(spots - middle, axis=1).round(6), patch.cells[:, 2]))
        open_ = np.ones(len(spots), dtype=bool)
        for k in order.tolist():
            if not open_[k]:
                continue
            off = np.linalg.norm(spots - spots[k], axis=1)
            near = np.flatnonzero(may & (off <= apart / 2))
            best = k if may[k] or not len(near) else int(near[np.argmin(off[near])])
            found.append((spots[best], bool(may[best])))
            open_ &= np.linalg.norm(spots - spots[best], axis=1) > apart
            open_[k] = False
    return found


def props(layers: Layers, at: Sequence[tuple[Floats, bool]], sizes: Sizes) -> list[Prop]:
    """A prop for each tip; ``layers`` is the piece where it is printed, ``sizes.lift`` above the plate."""
    return [_prop(layers, tip, sizes, refused=not may) for tip, may in at]


def _prop(layers: Layers, tip: Floats, sizes: Sizes, *, refused: bool) -> Prop:
    cone = min(sizes.cone, max(float(tip[2]) - 0.2, 0.2))
    for reach in (0.0, 0.8, 1.6, 2.6, 4.0, 6.0):
        for angle in np.arange(LEANS if reach else 1) * 2 * np.pi / LEANS:
            neck = tip - (0.0, 0.0, cone)
            aside = np.array((np.cos(angle), np.sin(angle), 0.0)) * reach
            foot = neck + aside - (0.0, 0.0, 1.4 * reach)
            if foot[2] < 0.3:
                continue
            ground = foot * (1.0, 1.0, 0.0)
            spots = np.stack((ground, foot, neck, tip)) if reach else np.stack((ground, neck, tip))
            if _free(layers, spots, sizes):
                return Prop(spots, refused=refused)
    spots = _short(layers, tip)
    return Prop(spots, on_piece=bool(spots[0, 2] > 0.0), refused=refused)


def _free(layers: Layers, spots: Floats, sizes: Sizes) -> bool:
    """Whether a column along these spots stays clear of the piece, but for its tip."""
    room = sizes.column / 2 + 0.15
    for k, (a, b) in enumerate(pairwise(spots)):
        cone = k == len(spots) - 2
        count = max(int(np.linalg.norm(b - a) / (2 * layers.height)), 2)
        share = np.linspace(0.0, 0.8 if cone else 1.0, count)[:, None]
        line = a + share * (b - a)
        wide = room * (1 - share * (1 - sizes.tip / sizes.column)) if cone else np.full((count, 1), room)
        one, two = frame_of(b - a)
        for angle in (None, *(np.arange(8) * np.pi / 4)):
            side = 0.0 if angle is None else wide * (np.cos(angle) * one + np.sin(angle) * two)
            if _metal(layers, line + side).any():
                return False
    return True


def _metal(layers: Layers, spots: Floats) -> Flags:
    size = np.array((layers.pixel, layers.pixel, layers.height))
    cell = np.rint((spots - layers.low) / size).astype(np.int64)
    inside = ((cell >= 0) & (cell < layers.solid.shape)).all(axis=1)
    return np.asarray(inside & layers.solid[tuple(np.where(inside[:, None], cell, 0).T)])


def _short(layers: Layers, tip: Floats) -> Floats:
    """From the piece right below up to the tip; from the plate where nothing is below."""
    x, y, z = layers.cells(tip[None])[0]
    below = np.flatnonzero(layers.solid[x, y, : max(z - 1, 0)])
    floor = layers.at([(x, y, int(below[-1]))])[0][2] if len(below) else 0.0
    foot = np.array((tip[0], tip[1], floor))
    return np.stack((foot, (foot + tip) / 2, tip))


def mesh_of(made: Sequence[Prop], sizes: Sizes) -> tuple[Floats, Ints]:
    """All props as one closed mesh: points (n, 3) mm, triangles (m, 3)."""
    from manifold3d import Manifold, OpType

    parts = [part for prop in made for part in _solids(prop, sizes)]
    whole = Manifold.batch_boolean(parts, OpType.Add).to_mesh64()
    return np.array(whole.vert_properties[:, :3]), np.array(whole.tri_verts, dtype=np.int64)


def _solids(prop: Prop, sizes: Sizes) -> list[object]:
    from manifold3d import Manifold

    tip, column = sizes.tip / 2, sizes.column / 2
    last = len(prop.spots) - 2
    found: list[object] = []
    if not prop.on_piece:
        foot = Manifold.cylinder(0.5, sizes.foot / 2, circular_segments=24)
        found.append(foot.translate(prop.spots[0].tolist()))
    for k, (a, b) in enumerate(pairwise(prop.spots)):
        first = tip if prop.on_piece and k == 0 else column
        second = tip if k == last else column
        way = (b - a) / np.linalg.norm(b - a)
        end = b + way * BITE if k == last else b
        start = a - way * BITE if prop.on_piece and k == 0 else a
        one, two = frame_of(way)
        frame = np.column_stack((one, two, way, start))
        rod = Manifold.cylinder(float(np.linalg.norm(end - start)), first, second, circular_segments=16)
        found.append(rod.transform(frame))
        if k < last:
            found.append(Manifold.sphere(second, circular_segments=16).translate(b.tolist()))
    return found
