"""Suction cups: hollows that are open only towards the layer being printed.

While such a layer is pulled off the film, resin cannot get into the hollow and air cannot get out:
the pull of a whole atmosphere acts on its area.
"""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import Floats, Ints
from ..measures.labels import groups
from ..measures.voxels import runs_of
from .layers import Layers

ATMOSPHERE = 0.101325  # N/mm2, the standard atmosphere (CGPM 1954)


@dataclass(frozen=True, eq=False)
class Cup:
    """``area`` mm2 where it is widest, in ``layer``, the middle of it at ``place`` (3,) mm."""

    area: float
    layer: int
    place: Floats

    @property
    def pull(self) -> float:
        """N, at most."""
        return self.area * ATMOSPHERE


def cups(layers: Layers, on_plate: bool, least: float) -> list[Cup]:
    """Cups of at least ``least`` mm2, largest first. ``on_plate``: the plate shuts layer 0."""
    nx, ny, nz = layers.solid.shape
    # Layers one after another, a row of nothing between, so that only cells of one layer touch.
    air = np.zeros((nz, nx + 1, ny), dtype=bool)
    air[:, :nx] = ~layers.solid.transpose(2, 0, 1)
    runs = runs_of(air.reshape(1, nz * (nx + 1), ny))
    row = runs.column
    one, two = runs.beside(1, row < nz * (nx + 1) - 1)
    room = groups(len(row), one, two)
    layer = row // (nx + 1)
    outer = np.zeros(room.max() + 1, dtype=bool)
    edge = (row % (nx + 1) == 0) | (runs.first == 0)
    outer[room[edge]] = True
    cells = np.bincount(room, weights=runs.last - runs.first + 1)
    size = np.asarray(cells * layers.pixel**2, dtype=np.float64)
    of_layer = np.zeros(len(size), dtype=np.int64)
    of_layer[room] = layer
    if not on_plate:
        outer |= of_layer == 0
    over, under = runs.beside(nx + 1, layer < nz - 1)
    links = np.unique(np.stack((room[over], room[under]), axis=1), axis=0)
    found = _pockets(of_layer, outer, size, links)
    spots = [
        (size[k], int(of_layer[k]), _middle(layers, runs.first, runs.last, row, room, k)) for k in found
    ]
    return sorted(
        (Cup(float(area), at, place) for area, at, place in spots if area >= least),
        key=lambda cup: (-cup.area, cup.layer),
    )


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
    ends = np.searchsorted(of_layer[rooms], np.arange(of_layer.max() + 2))
    joins = np.searchsorted(of_layer[upper[:, 1]], np.arange(of_layer.max() + 2)) if len(links) else ends * 0
    for at in range(int(of_layer.max()) + 1):
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


def _middle(layers: Layers, first: Ints, last: Ints, row: Ints, room: Ints, which: int) -> Floats:
    mine = np.flatnonzero(room == which)
    wide = layers.solid.shape[0] + 1
    weight = (last - first + 1)[mine]
    x = np.average(row[mine] % wide, weights=weight)
    y = np.average((first + last)[mine] / 2, weights=weight)
    return layers.at([(x, y, row[mine[0]] // wide)])[0]  # type: ignore[list-item]
