"""What has nothing under it: islands, that begin in mid air, and faces flatter than print by themselves."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..measures.kinds import Flags, Floats, Ints
from ..measures.labels import groups, lattice
from .layers import Layers, near, planar_groups

JOINED = 3.0
"""Pixels: what begins no farther than this beside what is printed runs into it."""
STEP = 4
"""Layers over which a slope is taken: over one, a pixel more or less would decide."""


@dataclass(frozen=True, eq=False)
class Patch:
    """Cells (n, 3) that need support, and how much they cover, mm2. ``island`` tells one that begins
    in mid air; another hangs out from what is printed."""

    cells: Ints
    area: float
    island: bool
    place: Floats

    @property
    def layer(self) -> int:
        """The first layer it shows in."""
        return int(self.cells[:, 2].min())

    @cached_property
    def lowest(self) -> Ints:
        """Its cells in the first layer."""
        return self.cells[self.cells[:, 2] == self.layer]

    def some(self, which: Flags, layers: Layers) -> Patch:
        """The part of it made of these cells (n,)."""
        cells = self.cells[which]
        return Patch(cells, len(cells) * layers.pixel**2, self.island, layers.at(cells).mean(axis=0))


def hanging(layers: Layers, slope: float, least: float, on_plate: bool) -> list[Patch]:
    """All that has nothing under it, lowest first.

    ``slope``: degrees from the level at which a face prints by itself. ``least`` mm2: smaller overhangs hold
    by what is beside them (islands never do). ``on_plate``: the lowest layer stands on the plate."""
    starts = layers.starts.copy()
    if on_plate:
        starts[tuple(layers.lowest.T)] = False
    cells = np.argwhere(starts)
    if not len(cells):
        return []
    flat = planar_groups(cells, starts.shape)
    alone = np.ones(flat.max() + 1, dtype=bool)
    alone[flat[near(cells, layers.solid & ~starts, JOINED)]] = False
    island = alone[flat]
    lower = np.minimum(cells - (0, 0, STEP), cells)
    lower[:, 2] = np.maximum(lower[:, 2], 0)
    steps = (cells - lower)[:, 2].max()
    reach = steps * layers.height / np.tan(np.radians(slope)) / layers.pixel
    out = island | ~near(lower, layers.solid, reach)
    return _patches(layers, cells[out], island[out], flat[out], least)


def _patches(layers: Layers, cells: Ints, island: np.ndarray, flat: Ints, least: float) -> list[Patch]:
    """Islands by themselves, one a layer; overhangs joined across layers."""
    found = []
    for alone in (True, False):
        mine = np.flatnonzero(island == alone)
        if not len(mine):
            continue
        if alone:
            label = np.unique(flat[mine], return_inverse=True)[1].reshape(-1)
        else:
            member, one, two = lattice(cells[mine].astype(float), 1.0)
            label = groups(int(member.max()) + 1, one, two)[member]
        order = np.argsort(label, kind="stable")
        for part in np.split(mine[order], np.flatnonzero(np.diff(label[order])) + 1):
            area = len(part) * layers.pixel**2
            if alone or area >= least:
                found.append(Patch(cells[part], area, alone, layers.at(cells[part]).mean(axis=0)))
    return sorted(found, key=lambda patch: (patch.layer, *patch.place.tolist()))
