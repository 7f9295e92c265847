"""What is shut in, or hangs on nothing, while the layers below it are all there is.

Suction cups are hollows that are open only towards the layer being printed: while it is pulled off the
film, resin cannot get in and air cannot get out, and the pull of a whole atmosphere acts on its area. What
is afloat is the same of the piece itself: a part that so far joins nothing that is held."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Flags, Floats, Ints
from ..measures.labels import groups
from ..measures.voxels import Runs, runs_of
from .layers import Layers

ATMOSPHERE = 0.101325  # N/mm2, the standard atmosphere (CGPM 1954)


@dataclass(frozen=True, eq=False)
class Pocket:
    """A cup, or a part afloat: ``area`` mm2 where it is widest, in ``layer``, its middle at
    ``place`` (3,) mm, ``spot`` (3,) the middle of one of its cells."""

    area: float
    layer: int
    place: Floats
    spot: Floats

    @property
    def pull(self) -> float:
        """On a cup, N, at most."""
        return self.area * ATMOSPHERE


def cups(layers: Layers, on_plate: bool, least: float) -> list[Pocket]:
    """Cups of at least ``least`` mm2, largest first. ``on_plate``: the plate shuts layer 0."""
    rooms = _rooms(~layers.solid)
    wide = layers.solid.shape[0] + 1
    outer = np.zeros(len(rooms.cells), dtype=bool)
    outer[rooms.of[(rooms.runs.column % wide == 0) | (rooms.runs.first == 0)]] = True
    if not on_plate:
        outer |= rooms.layer == 0
    return _widest(layers, rooms, outer, least)


def afloat(layers: Layers, held: Ints, least: float) -> list[tuple[Pocket, Ints]]:
    """Parts of at least ``least`` mm2 in some layer that print without hold on any of the cells ``held``
    (n, 3), largest first, each with its cells (k, 3) that have nothing below."""
    rooms, wide = _rooms(layers.solid), layers.solid.shape[0] + 1
    anchored = np.zeros(len(rooms.cells), dtype=bool)
    anchored[rooms.at(held, wide)] = True
    found = _widest(layers, rooms, anchored, least)
    starts = np.argwhere(layers.starts) if found else held[:0]
    home = rooms.at(starts, wide)
    parts = []
    for pocket in found:
        below = rooms.layer[rooms.links[:, 1]] <= pocket.layer
        part = groups(len(rooms.cells), *rooms.links[below].T)
        (mine,) = part[rooms.at(layers.cells(pocket.spot[None]), wide)]
        parts.append((pocket, starts[(part[home] == mine) & (starts[:, 2] <= pocket.layer)]))
    return parts


@dataclass(frozen=True, eq=False)
class Rooms:
    """Cells that belong together in their own layer: ``of`` (runs,) the room of each run, its ``layer`` and
    how many ``cells`` it has (rooms,); ``links`` (k, 2) of rooms over one another, the lower one first."""

    runs: Runs
    of: Ints
    layer: Ints
    cells: Ints
    links: Ints

    def at(self, cells: Ints, wide: int) -> Ints:
        """The rooms of cells (n, 3)."""
        place = (cells[:, 2] * wide + cells[:, 0]) * self.runs.deep + cells[:, 1]
        ends = self.runs.column * self.runs.deep + self.runs.last
        return self.of[np.searchsorted(ends, place)]


def _rooms(mask: Flags) -> Rooms:
    """Of the set cells of ``mask``."""
    nx, ny, nz = mask.shape
    # Layers one after another, a row of nothing between, so that only cells of one layer touch.
    flat = np.zeros((nz, nx + 1, ny), dtype=bool)
    flat[:, :nx] = mask.transpose(2, 0, 1)
    runs = runs_of(flat.reshape(1, nz * (nx + 1), ny))
    row = runs.column
    room = groups(len(row), *runs.beside(1, row < nz * (nx + 1) - 1))
    layer = np.zeros(room.max(initial=-1) + 1, dtype=np.int64)
    layer[room] = row // (nx + 1)
    cells = np.bincount(room, weights=runs.last - runs.first + 1).astype(np.int64)
    low, high = runs.beside(nx + 1, row // (nx + 1) < nz - 1)
    return Rooms(runs, room, layer, cells, np.unique(np.stack((room[low], room[high]), axis=1), axis=0))


def _widest(layers: Layers, rooms: Rooms, out: Flags, least: float) -> list[Pocket]:
    """Of each pocket of rooms that is joined to no room ``out`` so far, the widest room."""
    size = np.asarray(rooms.cells * layers.pixel**2)
    found = [
        Pocket(float(size[k]), int(rooms.layer[k]), *_middle(layers, rooms, k))
        for k in _pockets(rooms.layer, out, size, rooms.links)
        if size[k] >= least
    ]
    return sorted(found, key=lambda cup: (-cup.area, cup.layer))


def _pockets(of_layer: Ints, outer: np.ndarray, size: Floats, links: Ints) -> list[int]:
    """The widest room of every pocket, while it was one.

    Layer by layer: rooms join those below that they touch; what has no way out so far is a pocket."""
    root = np.arange(len(size))
    out = outer.copy()
    widest: dict[int, int] = {}

    def find(k: int) -> int:
        while root[k] != k:
            root[k] = root[root[k]]
            k = int(root[k])
        return k

    upper = links[np.argsort(of_layer[links[:, 1]], kind="stable")] if len(links) else links
    rooms = np.argsort(of_layer, kind="stable")
    count = int(of_layer.max(initial=-1)) + 1
    ends = np.searchsorted(of_layer[rooms], np.arange(count + 1))
    joins = np.searchsorted(of_layer[upper[:, 1]], np.arange(count + 1)) if len(links) else ends * 0
    for at in range(count):
        for a, b in upper[joins[at] : joins[at + 1]].tolist():
            a, b = find(a), find(b)
            if a != b:
                root[b] = a
                out[a] |= out[b]
                best = [widest.pop(k) for k in (a, b) if k in widest]
                if best:
                    widest[a] = max(best, key=lambda k: size[k])
        for k in rooms[ends[at] : ends[at + 1]].tolist():
            home = find(k)
            if not out[home] and (home not in widest or size[k] > size[widest[home]]):
                widest[home] = k
    return sorted(widest.values())


def _middle(layers: Layers, rooms: Rooms, which: int) -> Floats:
    """The middle of a room, and that of one of its cells, (2, 3) mm."""
    mine = np.flatnonzero(rooms.of == which)
    runs, wide = rooms.runs, layers.solid.shape[0] + 1
    first, column = runs.first[mine], runs.column[mine] % wide
    weight = runs.last[mine] - first + 1
    x, y = np.average(column, weights=weight), np.average((first + runs.last[mine]) / 2, weights=weight)
    z = int(rooms.layer[which])
    return layers.at([(x, y, z), (column[0], first[0], z)])  # type: ignore[list-item]
