"""A closed mesh cut into layers and pixels, as a printer shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..measures.kinds import Flags, Floats, Ints
from ..measures.labels import groups, lattice
from ..measures.skin import Skin
from ..measures.voxels import fill

MOST_CELLS = 40_000_000
"""Cells at most: one byte each, four while they are filled."""


HIGH, LONG = 6, 8


@dataclass(frozen=True, eq=False)
class Layers:
    """``solid`` (nx, ny, nz) whether the middle of each cell is in the piece; cells ``pixel`` mm wide,
    ``height`` mm high; ``low`` (3,) mm the middle of the first. Two cells of air lie all round."""

    solid: Flags
    pixel: float
    height: float
    low: Floats

    @cached_property
    def starts(self) -> Flags:
        """Cells that have no cell of the piece right below them."""
        below = np.zeros_like(self.solid)
        below[:, :, 1:] = self.solid[:, :, :-1]
        return np.asarray(self.solid & ~below)

    @cached_property
    def lowest(self) -> Ints:
        """The cells of the first layer that has any, (n, 3)."""
        at = int((self.areas > 0).argmax())
        return np.argwhere(self.solid[:, :, at : at + 1]) + np.array((0, 0, at))

    @cached_property
    def areas(self) -> Floats:
        """Area of each layer, mm2 (nz,)."""
        return np.asarray(self.solid.sum(axis=(0, 1)) * self.pixel**2)

    @property
    def volume(self) -> float:
        """mm3."""
        return float(self.areas.sum() * self.height)

    def at(self, cells: Ints | Sequence[Sequence[int]]) -> Floats:
        """The middles of cells (n, 3)."""
        size = np.array((self.pixel, self.pixel, self.height))
        return np.asarray(self.low + np.asarray(cells) * size)

    def cells(self, spots: Floats) -> Ints:
        """The cells (n, 3) that spots (n, 3) lie in, kept within all there are."""
        size = np.array((self.pixel, self.pixel, self.height))
        found = np.rint((spots - self.low) / size).astype(np.int64)
        return np.clip(found, 0, np.array(self.solid.shape) - 1)


def layers_of(points: Floats, triangles: Ints, pixel: float, height: float) -> Layers:
    """A closed mesh in layers, from its lowest point up.

    Where that takes more than MOST_CELLS cells, pixel and height are taken coarser alike; the
    layers tell theirs."""
    box = np.stack((points.min(axis=0), points.max(axis=0)))
    coarser = 1.0
    while np.prod(_shape(box, pixel * coarser, height * coarser).astype(float)) > MOST_CELLS:
        coarser *= 1.25
    return cut(points, triangles, box, pixel * coarser, height * coarser)


def _shape(box: Floats, pixel: float, height: float) -> Ints:
    """How many cells a box takes, with air all round, (3,)."""
    return np.ceil((box[1] - box[0]) / (pixel, pixel, height)).astype(np.int64) + np.array((4, 4, 3))


def cut(points: Floats, triangles: Ints, box: Floats, pixel: float, height: float) -> Layers:
    """A closed mesh in layers over ``box`` (lowest and highest corner), from its lowest layer up."""
    size = np.array((pixel, pixel, height))
    first = box[0] + size * (-1.5, -1.5, 0.5)
    squeezed = Skin((points - first) / size, triangles, np.zeros(len(triangles), dtype=np.int64))
    x, y, z = _shape(box, pixel, height).tolist()
    return Layers(fill(squeezed, np.zeros(3), 1.0, (x, y, z)), pixel, height, first)


def near(cells: Ints, mask: Flags, pixels: float) -> Flags:
    """Whether ``mask`` has a cell within so many pixels in the layer of each of ``cells`` (n, 3), (n,)."""
    reach = max(int(pixels), 1)
    found = np.zeros(len(cells), dtype=bool)
    x, y, z = cells.T
    nx, ny, _ = mask.shape
    steps = [(i, j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
    for i, j in sorted(steps, key=lambda step: step[0] ** 2 + step[1] ** 2):
        if i * i + j * j > max(pixels, 1.5) ** 2:
            break
        todo = np.flatnonzero(~found)
        one, two = np.clip(x[todo] + i, 0, nx - 1), np.clip(y[todo] + j, 0, ny - 1)
        found[todo] = mask[one, two, z[todo]]
    return found


def planar_groups(cells: Ints, shape: tuple[int, ...]) -> Ints:
    """Which of cells (n, 3) belong together in their layer, sides and corners: group numbers (n,)."""
    _, ny, _ = shape
    key = (cells[:, 2] * (shape[0] + 2) + cells[:, 0] + 1) * (ny + 2) + cells[:, 1] + 1
    order = np.argsort(key, kind="stable")
    ranked = key[order]
    ones, twos = [], []
    for step in (1, ny + 1, ny + 2, ny + 3):
        place = np.minimum(np.searchsorted(ranked, ranked + step), max(len(ranked) - 1, 0))
        hit = np.flatnonzero(ranked[place] == ranked + step) if len(ranked) else place
        ones.append(order[hit])
        twos.append(order[place[hit]])
    return groups(len(cells), np.concatenate(ones), np.concatenate(twos))


def one_wide(layers: Layers) -> list[Ints]:
    """Groups of cells (n, 3) that lie in no square of two by two cells of their layer: of those that go
    on over HIGH layers, LONG cells in each. (A sharp edge begins a cell wide, in one layer.)"""
    solid = layers.solid
    square = solid[:-1, :-1] & solid[1:, :-1] & solid[:-1, 1:] & solid[1:, 1:]
    wide = np.zeros_like(solid)
    for i, j in ((0, 0), (1, 0), (0, 1), (1, 1)):
        wide[i : solid.shape[0] - 1 + i, j : solid.shape[1] - 1 + j] |= square
    cells = np.argwhere(solid & ~wide)
    if not len(cells):
        return []
    member, one, two = lattice(cells.astype(float), 1.0)
    label = groups(int(member.max()) + 1, one, two)[member]
    order = np.argsort(label, kind="stable")
    parts = np.split(cells[order], np.flatnonzero(np.diff(label[order])) + 1)
    high = [int(np.ptp(part[:, 2])) + 1 for part in parts]
    return [part for part, tall in zip(parts, high, strict=True) if tall >= HIGH and len(part) >= LONG * tall]
