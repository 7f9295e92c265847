"""Long straight runs of small copies on a flat face, without giving each copy to the kernel.

A run of beads on a rim is the same little cell over and over. So the kernel makes one cell: a
strip of the face with its bead, cut square at both mid-planes to the next. In the piece a plain
block stands in for the run; afterwards the block's faces are taken out and the cells, copied as
arrays, sewn into the hole they leave. The solid is the one the kernel would have made.

Nothing is taken on trust. The face must be flat and of one step all round the run (else those
copies are real ones); no other row may reach into the block; a cell must hold all that the
neighbours have in it; every edge of the hole must meet an edge of the cells; and the volume must
come out right. Where any of that fails, all copies are given to the kernel as usual.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from ..measures.kinds import least, most
from .cells import ROOM, cell_of
from .copies import Copies, solids_of
from .kernel import Readout, join, problem, read, solid_of
from .locality import meeting
from .owners import NOBODY
from .runs import FLAT, LEAST, Cell, Run, Strip, runs_of
from .seam import Laid, rim, sewn

if TYPE_CHECKING:
    from .items import Item, Metal, Solid
    from .solids import Workshop

LEVEL = 2e-8  # mm by which a face of a turned body, its frame rounded, may be off
SAME = 1e-9  # relative difference of volumes that are the same


def metal_by_strips(shop: Workshop, items: Sequence[Item]) -> Metal | None:
    """The items joined, runs by strips; None when there are no runs or a check fails."""
    runs, loose, rest = _runs(items)
    if not runs or not rest:
        return None
    base = shop.joined(rest)
    made = shop.made(base)
    if problem(made) is not None:
        return None
    ground = shop.memo.take(
        f"read {base.key} {shop.tolerance}", lambda: read(made), lambda out: len(out.triangles)
    )
    found = [_strips(shop, run, ground) for run in runs]
    left = [_left_over(run, mine) for run, mine in zip(runs, found, strict=True)]
    if not any(found) or not _free_of_others(found, left, loose):
        return None
    return _sewn(shop, base, [*chain(*found)], [*loose, *chain(*left)])


def _free_of_others(
    found: Sequence[Sequence[Strip]], left: Sequence[Sequence[Copies]], loose: Sequence[Copies]
) -> bool:
    """Whether no copy that is neither ground nor of the run itself, and no strip of another run,
    reaches into a strip's block."""
    blocks = [[_box(strip) for strip in mine] for mine in found]
    for k, mine in enumerate(blocks):
        others = [copies.boxes for copies in chain(loose, *left[:k], *left[k + 1 :])]
        others += [box[None] for box in chain(*blocks[:k], *blocks[k + 1 :])]
        if others and any(meeting(np.concatenate(others), box).any() for box in mine):
            return False
    return True


def _box(strip: Strip) -> np.ndarray:
    points = strip.block().points
    return np.concatenate([points.min(axis=0), points.max(axis=0)])


def _runs(items: Sequence[Item]) -> tuple[list[Run], list[Copies], list[Item]]:
    """Straight even rows among the items, what is left of those items, and the other items."""
    runs: list[Run] = []
    loose: list[Copies] = []
    rest: list[Item] = []
    for item in items:
        mine = runs_of(item) if isinstance(item, Copies) and len(item) >= LEAST else []
        if not mine:
            rest.append(item)
            continue
        assert isinstance(item, Copies)  # only copies have rows
        left = np.ones(len(item), dtype=bool)
        for first, last, run in mine:
            left[first:last] = False
            runs.append(run)
        if left.any():
            loose.append(item.part(left))
    return runs, loose, rest


def _strips(shop: Workshop, run: Run, ground: Readout) -> list[Strip]:
    """Where the face round the run is flat and free: strips, inside real copies at both ends."""
    shape = run.shape()
    wide = float(np.abs(shape[:, 1]).max()) + ROOM
    reach = float(np.abs(shape[:, 0]).max())
    overlap = int(reach / run.pitch + 0.5)  # copies that a copy reaches into, on either side
    face = _face(run, ground, shape)
    if face is None:
        return []
    level, index = face
    cell = cell_of(shop, run, shape, level, wide)
    if cell is None:
        return []
    free = _free(run, ground, cell, level, index, reach)
    mark, own, cut = int(ground.mark[index]), int(ground.face[index]), bool(ground.cut[index])
    return [
        Strip(run, cell, first, last, mark, own, cut)
        for first, last in _stretches(free, max(overlap, 1))
        if last - first >= LEAST // 2
    ]


def _face(run: Run, ground: Readout, shape: np.ndarray) -> tuple[float, int] | None:
    """Height of the face that the run's middle copy stands in, and one of its triangles."""
    points = run.local(ground.points)
    inside = (points[:, 2] > shape[:, 2].min() + ROOM / 2) & (
        points[:, 2] < shape[:, 2].max() - ROOM / 2
    )
    index = np.flatnonzero(np.take(inside, ground.triangles[:, 0]))
    height = points[:, 2][ground.triangles[index]]
    index = index[most(height) - least(height) < LEVEL]
    corner = points[ground.triangles[index], :2] - (len(run.copies) // 2 * run.pitch, 0.0)
    after = np.roll(corner, -1, axis=1)
    side = after[:, :, 0] * corner[:, :, 1] - after[:, :, 1] * corner[:, :, 0]
    hit = index[(side <= 0).all(axis=1)]  # counter-clockwise round the copy's own origin
    if len(hit) == 0:
        return None
    heights = points[:, 2][ground.triangles[hit]]
    top = int(np.argmax(least(heights)))
    return float(heights[top].mean()), int(hit[top])


def _free(
    run: Run, ground: Readout, cell: Cell, level: float, index: int, reach: float
) -> np.ndarray:
    """For each copy whether all metal near its cell is the one flat face, (n,) bool."""
    points, triangles = run.local(ground.points), ground.triangles
    rows = np.arange(len(triangles))
    for axis, low, high in ((2, level - cell.depth, cell.top), (1, -cell.wide, cell.wide)):
        under, over = points[:, axis] >= high, points[:, axis] <= low
        mine = triangles if len(rows) == len(triangles) else triangles[rows]
        beyond = np.take(under, mine).all(axis=1) | np.take(over, mine).all(axis=1)
        rows = rows[~beyond]
    own = (np.abs(points[:, 2][triangles[rows]] - level) < LEVEL).all(axis=1)
    for column in (ground.mark, ground.face, ground.cut):
        own &= column[rows] == column[index]
    blocking = points[:, 0][triangles[rows[~own]]]
    count, half = len(run.copies), max(run.pitch / 2, reach) + ROOM
    first = np.ceil((least(blocking) - half) / run.pitch).clip(0, count).astype(int)
    last = np.floor((most(blocking) + half) / run.pitch).clip(-1, count - 1).astype(int)
    change = np.zeros(count + 1, dtype=int)
    np.add.at(change, first, 1)
    np.add.at(change, np.maximum(last + 1, first), -1)
    return np.asarray(np.cumsum(change)[:count] == 0)


def _stretches(free: np.ndarray, margin: int) -> list[tuple[int, int]]:
    """(first, last + 1) of stretches of free copies, less ``margin`` real ones at either end."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], free.astype(int), [0]])))
    return [(int(a) + margin, int(b) - margin) for a, b in edges.reshape(-1, 2) if b - a > 2 * margin]


def _left_over(run: Run, strips: Sequence[Strip]) -> list[Copies]:
    left = np.ones(len(run.copies), dtype=bool)
    for strip in strips:
        left[strip.first : strip.last] = False
    return [run.copies.part(left)] if left.any() else []


def _sewn(
    shop: Workshop, base: Solid, strips: Sequence[Strip], loose: Sequence[Copies]
) -> Metal | None:
    """The kernel's solid with blocks, less their faces, plus the cells; None if a check fails."""
    blocks = [solid_of([strip.block()]) for strip in strips]
    solid = join([shop.made(base), *solids_of(loose), *blocks])
    if problem(solid) is not None:
        return None
    out = read(solid)
    made = sewn(out, out.mark == NOBODY, [laid(strip) for strip in strips])
    if made is None:
        return None
    volume = float(solid.volume()) + sum(strip.gain() for strip in strips)
    if abs(made.volume() - volume) > SAME * volume:
        return None
    return shop.metal_of(made)


def laid(strip: Strip) -> Laid:
    """All cells of a strip, welded to one another."""
    cell, count = strip.cell, strip.count
    size = len(cell.points)
    points = np.tile(cell.points, (count, 1))
    points[:, 0] += np.repeat(np.arange(strip.first, strip.last), size) * cell.pitch
    weld = np.arange(count * size)
    later = np.arange(1, count)[:, None] * size
    weld[(later + cell.left).ravel()] = (later - size + cell.right).ravel()
    start = np.arange(count)[:, None, None] * size
    flat = weld[(cell.triangles[None, : cell.flat] + start).reshape(-1, 3)]
    copy = weld[(cell.triangles[None, cell.flat :] + start).reshape(-1, 3)]
    triangles = np.concatenate([flat, copy])
    owner = strip.run.copies.owner.id
    mesh = Readout(
        points @ strip.run.axes + strip.run.origin,
        triangles,
        np.repeat([strip.mark, owner], [len(flat), len(copy)]),
        np.concatenate([np.full(len(flat), strip.face), np.tile(cell.face[cell.flat :], count)]),
        np.concatenate([np.full(len(flat), strip.cut), np.zeros(len(copy), dtype=bool)]),
    )
    edges = rim(cell.triangles)
    spots = cell.points[edges]
    way = np.full(len(edges), -1)
    for number, (axis, at) in enumerate(
        ((1, -cell.wide), (1, cell.wide), (0, -cell.pitch / 2), (0, cell.pitch / 2))
    ):
        on_it = (np.abs(spots[:, :, axis] - at) < FLAT).all(axis=1)
        way[on_it & (np.abs(spots[:, :, 2] - cell.level) < FLAT).all(axis=1)] = number
    at_left, at_right = (np.isin(edges, ends).all(axis=1) for ends in (cell.left, cell.right))
    side = (way == 0) | (way == 1)
    at_left, at_right = at_left & ~side, at_right & ~side
    rows = weld[(edges[side][None] + start).reshape(-1, 2)]
    last = (count - 1) * size
    return Laid(
        mesh,
        np.concatenate([rows, weld[edges[at_left]], weld[edges[at_right] + last]]),
        np.concatenate([np.tile(way[side], count), way[at_left], way[at_right]]),
    )
