"""Rays on their way through the cells of a grid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .kinds import Floats

if TYPE_CHECKING:
    from .grid import Grid


class CellWalk:
    """Rays stepping together from cell to cell."""

    def __init__(self, grid: Grid, origin: Floats, along: Floats) -> None:
        with np.errstate(divide="ignore", invalid="ignore"):
            inverse = 1.0 / along
            one = (grid.origin - origin) * inverse
            two = (grid.top - origin) * inverse
        flat = np.abs(along) < 1e-12
        within = (origin >= grid.origin) & (origin <= grid.top)
        enter = np.where(flat, np.where(within, -np.inf, np.inf), np.minimum(one, two)).max(axis=1)
        leave = np.where(flat, np.inf, np.maximum(one, two)).min(axis=1)
        self.ray = np.flatnonzero((np.maximum(enter, 0) <= leave) & (leave >= 0))
        some = self.ray
        self.at = np.maximum(enter[some], 0)
        start = origin[some] + self.at[:, None] * along[some]
        self.cell = grid.cells(start)
        self.side = np.where(along[some] > 0, 1, -1).astype(np.int64)
        face = grid.origin + (self.cell + (self.side > 0)) * grid.cell
        with np.errstate(divide="ignore", invalid="ignore"):
            self.next = np.where(flat[some], np.inf, (face - origin[some]) * inverse[some])
            self.gap = np.where(flat[some], np.inf, np.abs(grid.cell * inverse[some]))
        self.shape = grid.shape

    def step(self, best: Floats) -> None:
        """Move every ray to its next cell; drop those that have met something or left."""
        axis = np.argmin(self.next, axis=1)
        lines = np.arange(len(axis))
        out = self.next[lines, axis]
        self.cell[lines, axis] += self.side[lines, axis]
        self.next[lines, axis] += self.gap[lines, axis]
        self.at = out
        inside = np.isfinite(out)
        for k in range(3):
            inside &= (self.cell[:, k] >= 0) & (self.cell[:, k] < self.shape[k])
        keep = inside & (best[self.ray] > out)
        self.ray, self.cell, self.side = self.ray[keep], self.cell[keep], self.side[keep]
        self.next, self.gap, self.at = self.next[keep], self.gap[keep], self.at[keep]
