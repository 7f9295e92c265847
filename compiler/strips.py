"""Long straight runs of small copies on a flat face, without giving each copy to the kernel.

A run of beads on a rim is the same little cell over and over. So the kernel makes one cell: a
strip of the face with its bead, cut square at both mid-planes to the next. In the piece a plain
block stands in for the run; afterwards the block's faces are taken out and the cells, copied as
arrays, sewn into the hole they leave. The solid is the one the kernel would have made.

Nothing is taken on trust. The face must be flat and of one step all round the run (else those
copies are real ones); what shows of the block must have the area that a free block over solid
metal shows; every edge of the hole must meet an edge of the cells; and the volume must come
out right. Where any of that fails, all copies are given to the kernel as usual.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..lang.lean import dataclass
from .copies import Copies
from .kernel import Patch, Readout, join, problem, read, solid_of
from .memo import key_of
from .owners import NOBODY
from .seam import Laid, Split, rim, sewn
from .shapes.mesh import SolidMesh

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .solids import Item, Metal, Workshop

LEAST = 24  # copies in a row that are worth it
EVEN = 5e-9  # mm by which rounded steps of an even row may differ
FLAT = 1e-9  # mm
LEVEL = 2e-8  # mm by which a face of a turned body, its frame rounded, may be off
ROOM = 0.02  # mm round a bead that must be flat and free
SAME = 1e-9  # relative difference of volumes that are the same


@dataclass(frozen=True, eq=False)
class Run:
    """An even straight row: ``copies`` in order, ``axes`` rows along, across and out of the face,
    ``pitch`` mm. In local figures the first copy's origin is zero."""

    copies: Copies
    axes: np.ndarray
    pitch: float

    @property
    def origin(self) -> np.ndarray:
        """Where the first copy stands."""
        return np.asarray(self.copies.frames[0, :, 3])

    def local(self, points: np.ndarray) -> np.ndarray:
        """``points`` in the run's own figures."""
        return np.asarray(points @ self.axes.T - self.axes @ self.origin)

    def turn(self) -> np.ndarray:
        """How a copy stands to the run's axes, (3, 3); free of the noise of rounded frames."""
        return np.asarray(np.round(self.axes @ self.copies.frames[0, :, :3], 9) + 0.0)

    def shape(self) -> np.ndarray:
        """Points of one copy about its own origin, along the run's axes."""
        return np.asarray(self.copies.mesh.points @ self.turn().T)


@dataclass(frozen=True, eq=False)
class Cell:
    """One cell of a run: ``points`` about the copy's origin; of the ``triangles`` the first ``flat``
    are face. ``left``, ``right``: matching points at the two mid-planes; ``sides`` their ends.
    ``rise``: volume over the face, mm3; ``end``: area of the copy in a mid-plane over the face."""

    points: np.ndarray
    triangles: np.ndarray
    face: np.ndarray
    flat: int
    left: np.ndarray
    right: np.ndarray
    rise: float
    end: float
    pitch: float
    wide: float
    level: float
    top: float
    depth: float


@dataclass(frozen=True, eq=False)
class Strip:
    """Cells in place of the copies ``first`` to ``last`` (not itself) of a run, on a face whose
    triangles carry ``mark``, ``face`` and ``cut``."""

    run: Run
    cell: Cell
    first: int
    last: int
    mark: int
    face: int
    cut: bool

    @property
    def count(self) -> int:
        """How many cells."""
        return self.last - self.first

    def block(self) -> Patch:
        """The block that stands in for the cells (its mark is nobody's)."""
        cell = self.cell
        x0, x1 = (np.array([self.first, self.last]) - 0.5) * cell.pitch
        low = np.array([x0, -cell.wide, cell.level - cell.depth])
        high = np.array([x1, cell.wide, cell.top])
        corners = np.array([(i & 1, i >> 1 & 1, i >> 2) for i in range(8)])
        points = np.where(corners == 1, high, low) @ self.run.axes + self.run.origin
        return Patch(points, BOX, np.repeat(np.arange(6), 2), NOBODY)

    def exposed(self) -> float:
        """Area of the block that shows, mm2, when it is free above the face and buried below."""
        cell = self.cell
        long, high = self.count * cell.pitch, cell.top - cell.level
        return 2 * (long * cell.wide + long * high + 2 * cell.wide * high - cell.end)

    def gain(self) -> float:
        """Volume of the cells over the face less that of the block, mm3."""
        cell = self.cell
        block = 2 * cell.wide * self.count * cell.pitch * (cell.top - cell.level)
        return self.count * cell.rise - block


# A box of the corners (x, y, z) = bits 0, 1, 2: bottom, top, front, back, left, right.
BOX = np.array([
    (0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4),
    (2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5),
])  # fmt: skip


def joined_with_strips(shop: Workshop, items: Sequence[Item]) -> Metal | None:
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
    strips: list[Strip] = []
    for run in runs:
        found = _strips(shop, run, ground)
        strips += found
        loose += _left_over(run, found)
    if not strips:
        return None
    return _sewn(shop, base, strips, loose)


def _runs(items: Sequence[Item]) -> tuple[list[Run], list[Copies], list[Item]]:
    """Straight even rows among the items, what is left of those items, and the other items."""
    runs: list[Run] = []
    loose: list[Copies] = []
    rest: list[Item] = []
    for item in items:
        left = np.ones(len(item), dtype=bool) if isinstance(item, Copies) else np.zeros(0)
        rows = _rows(item) if isinstance(item, Copies) and len(item) >= LEAST else []
        for first, last in rows:
            assert isinstance(item, Copies)  # only copies have rows
            run = _run(item.part(np.arange(first, last)))
            if run is not None:
                left[first:last] = False
                runs.append(run)
        if left.all() or not isinstance(item, Copies):
            rest.append(item)
        elif left.any():
            loose.append(item.part(left))
    return runs, loose, rest


def _rows(copies: Copies) -> list[tuple[int, int]]:
    """(first, last + 1) of stretches of frames that differ by one and the same shift."""
    step = np.diff(copies.frames, axis=0)
    shift = step[:, :, 3]
    even = (np.abs(step[:, :, :3]).max(axis=(1, 2)) < FLAT) & (np.linalg.norm(shift, axis=1) > 1e-6)
    alike = even[1:] & even[:-1] & (np.abs(np.diff(shift, axis=0)).max(axis=1) < EVEN)
    found, start = [], 0
    for index in [*np.flatnonzero(~alike), len(alike)]:
        if index - start + 2 >= LEAST:
            found.append((start, int(index) + 2))
        start = int(index) + 1
    # Two stretches may share the copy at which they meet: the first has it.
    return [
        (max(a, found[k - 1][1]) if k else a, b)
        for k, (a, b) in enumerate(found)
        if b - (max(a, found[k - 1][1]) if k else a) >= LEAST
    ]


def _run(copies: Copies) -> Run | None:
    """The row as a run, when it goes square to the way its copies face."""
    frames = copies.frames
    way = frames[-1, :, 3] - frames[0, :, 3]
    long = float(np.linalg.norm(way))
    along, out = way / long, frames[0, :, 2]
    if abs(along @ out) > FLAT:
        return None
    return Run(copies, np.stack([along, np.cross(out, along), out]), long / (len(copies) - 1))


def _strips(shop: Workshop, run: Run, ground: Readout) -> list[Strip]:
    """Where the face round the run is flat and free: strips, inside real copies at both ends."""
    shape = run.shape()
    wide = float(np.abs(shape[:, 1]).max()) + ROOM
    reach = float(np.abs(shape[:, 0]).max())
    overlap = int(reach / run.pitch + 0.5)  # copies that a copy reaches into, on either side
    face = _face(run, ground, shape)
    if face is None or overlap > 3:
        return []
    level, index = face
    cell = _cell(shop, run, shape, level, wide)
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
    height = points[:, 2][ground.triangles]
    low = height.min(axis=1)
    flat = (low > shape[:, 2].min() + ROOM / 2) & (low < shape[:, 2].max() - ROOM / 2)
    index = np.flatnonzero(flat)
    index = index[height[index].max(axis=1) - low[index] < LEVEL]
    corner = points[ground.triangles[index], :2] - (len(run.copies) // 2 * run.pitch, 0.0)
    after = np.roll(corner, -1, axis=1)
    side = after[:, :, 0] * corner[:, :, 1] - after[:, :, 1] * corner[:, :, 0]
    hit = index[(side <= 0).all(axis=1)]  # counter-clockwise round the copy's own origin
    if len(hit) == 0:
        return None
    top = hit[np.argmax(low[hit])]
    return float(height[top].mean()), int(top)


def _free(
    run: Run, ground: Readout, cell: Cell, level: float, index: int, reach: float
) -> np.ndarray:
    """For each copy whether all metal near its cell is the one flat face, (n,) bool."""
    points, triangles = run.local(ground.points), ground.triangles
    rows = np.arange(len(triangles))
    for axis, low, high in ((2, level - cell.depth, cell.top), (1, -cell.wide, cell.wide)):
        figure = points[:, axis][triangles[rows]]
        rows = rows[(figure.min(axis=1) < high) & (figure.max(axis=1) > low)]
    own = (np.abs(points[:, 2][triangles[rows]] - level) < LEVEL).all(axis=1)
    for column in (ground.mark, ground.face, ground.cut):
        own &= column[rows] == column[index]
    blocking = points[:, 0][triangles[rows[~own]]]
    count, half = len(run.copies), max(run.pitch / 2, reach) + ROOM
    first = np.ceil((blocking.min(axis=1) - half) / run.pitch).clip(0, count).astype(int)
    last = np.floor((blocking.max(axis=1) + half) / run.pitch).clip(-1, count - 1).astype(int)
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


# -- one cell ----------------------------------------------------------------------------------


def _cell(
    shop: Workshop, run: Run, shape: np.ndarray, level: float, wide: float
) -> Cell | None:
    """The cell of a run, from the memo if it is there."""
    level, pitch = round(level, 9), round(run.pitch, 12)
    key = key_of(
        "cell", run.copies.owner.shape.digest(), run.turn().tobytes(), level, pitch, wide,
        _mirrored(run),
    )  # fmt: skip
    return shop.memo.take(
        f"{key} {shop.tolerance}",
        lambda: _new_cell(run.copies.mesh, shape, _mirrored(run), level, pitch, wide),
        lambda cell: 0 if cell is None else len(cell.triangles),
    )


def _mirrored(run: Run) -> bool:
    return bool(np.linalg.det(run.copies.frames[0, :, :3]) < 0)


SLAB, CUTTER, COPY = NOBODY - 1, NOBODY - 2, NOBODY - 3


def _new_cell(
    mesh: SolidMesh, shape: np.ndarray, mirrored: bool, level: float, pitch: float, wide: float
) -> Cell | None:
    """The cell of one copy alone: enough where a copy is its own mirror image, and what its
    neighbours have on this side of the mid-planes lies inside it. None where it is not so."""
    triangles = mesh.triangles[:, ::-1] if mirrored else mesh.triangles
    copy_solid = solid_of([Patch(shape, triangles, mesh.face, COPY)])
    if not _mirror_image(shape):
        return None
    depth, top = level - float(shape[:, 2].min()) + ROOM, float(shape[:, 2].max()) + ROOM
    slab = _box((-2 * pitch, -wide, level - depth), (2 * pitch, wide, level), SLAB)
    cutter = _box((-pitch / 2, -2 * wide, level - 2 * depth), (pitch / 2, 2 * wide, top), CUTTER)
    room = solid_of([cutter])
    if not _covers(copy_solid, pitch, float(shape[:, 0].max()), room):
        return None
    whole = join([solid_of([slab]), copy_solid]) ^ room
    if problem(whole) is not None:
        return None
    rise = float(whole.volume()) - 2 * wide * pitch * depth
    out = read(whole)
    flat = (out.mark == SLAB) & (out.face == 1)
    copy = out.mark == COPY
    ends = out.mark == CUTTER
    end = float(out.areas(ends).sum()) / 2 - 2 * wide * depth
    keep = np.concatenate([np.flatnonzero(flat), np.flatnonzero(copy)])
    used, packed = np.unique(out.triangles[keep], return_inverse=True)
    points, triangles, source = _paired(out.points[used], packed.reshape(-1, 3), pitch / 2)
    face, on_top = out.face[keep][source], source < flat.sum()
    order = np.argsort(~on_top, kind="stable")
    left, right = (_sorted(points, x) for x in (-pitch / 2, pitch / 2))
    if len(left) != len(right) or len(left) < 2:
        return None
    if np.abs(points[left, 1:] - points[right, 1:]).max() > 10 * FLAT:
        return None
    return Cell(
        points, triangles[order], face[order], int(on_top.sum()), left, right, rise, end,
        pitch, wide, level, top, depth,
    )  # fmt: skip


def _sorted(points: np.ndarray, x: float) -> np.ndarray:
    """The points in a mid-plane, in one order."""
    found = np.flatnonzero(np.abs(points[:, 0] - x) < FLAT)
    return np.asarray(found[np.lexsort(points[found, 1:].round(7).T)])


def _paired(
    points: np.ndarray, triangles: np.ndarray, half: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The mesh with each point on a straight edge in one mid-plane in the other too: the kernel
    leaves a point here and there. The third value tells which triangle each came from."""
    split = Split(triangles)
    for x in (-half, half):
        here, there = _sorted(points, x), _sorted(points, -x)
        for spot in points[there, 1:]:
            if np.abs(points[here, 1:] - spot).max(axis=1).min() <= 10 * FLAT:
                continue
            edges = rim(split.triangles()[0])
            for first, last in edges[np.isin(edges, here).all(axis=1)].tolist():
                a, b = points[first, 1:], points[last, 1:]
                share = float((spot - a) @ (b - a)) / float((b - a) @ (b - a))
                if 0 < share < 1 and np.abs(a + share * (b - a) - spot).max() < FLAT:
                    points = np.concatenate([points, [(x, *spot)]])
                    split.split([first, len(points) - 1, last])
                    break
    return points, *split.triangles()


def _mirror_image(shape: np.ndarray) -> bool:
    """Whether the points are the same seen in the mirror across the run."""
    points = np.round(shape, 7) + 0.0
    other = np.round(shape * (-1.0, 1.0, 1.0), 7) + 0.0
    sort = [np.lexsort(p.T[::-1]) for p in (points, other)]
    return bool(np.abs(points[sort[0]] - other[sort[1]]).max() < 1e-6)


def _covers(copy: Manifold, pitch: float, reach: float, room: Manifold) -> bool:
    """Whether a copy holds all that its neighbours on one side have in its ``room``."""
    least = 1e-9 * float(copy.volume())
    beyond = [number for number in range(1, 4) if number * pitch - reach < pitch / 2]
    return all(
        ((copy.translate((number * pitch, 0.0, 0.0)) ^ room) - copy).volume() <= least
        for number in beyond
    )


def _box(low: tuple[float, ...], high: tuple[float, ...], mark: int) -> Patch:
    corners = np.array([(i & 1, i >> 1 & 1, i >> 2) for i in range(8)])
    points = np.where(corners == 1, np.array(high), np.array(low))
    return Patch(points, BOX, np.repeat(np.arange(6), 2), mark)


# -- sewing ------------------------------------------------------------------------------------


def _sewn(
    shop: Workshop, base: Item, strips: Sequence[Strip], loose: Sequence[Copies]
) -> Metal | None:
    """The kernel's solid with blocks, less their faces, plus the cells; None if a check fails."""
    from .copies import solids_of
    from .solids import Solid

    assert isinstance(base, Solid)
    blocks = [solid_of([strip.block()]) for strip in strips]
    whole = join([shop.made(base), *solids_of(loose), *blocks])
    if problem(whole) is not None:
        return None
    out = read(whole)
    shown = float(out.areas(out.mark == NOBODY).sum())
    wanted = sum(strip.exposed() for strip in strips)
    if abs(shown - wanted) > 1e-7 * wanted:
        return None
    made = sewn(out, out.mark == NOBODY, [laid(strip) for strip in strips])
    if made is None:
        return None
    volume = float(whole.volume()) + sum(strip.gain() for strip in strips)
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
