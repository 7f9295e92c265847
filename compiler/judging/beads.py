"""Rows of beads along a line: their size and how they follow one another. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..bench.roles import Role

if TYPE_CHECKING:
    from .piece import Piece

FEWEST = 4  # balls along a line that make a row of beads


@dataclass(frozen=True)
class Row:
    """One row: its line, the bead's diameter, the centres (n, 3), and the pitch from each bead
    to the next (n - 1,), jumps to another line left out."""

    feature: int
    bead: float
    centres: np.ndarray
    pitch: np.ndarray

    @property
    def usual_pitch(self) -> float:
        """The pitch in the middle of all, mm (numpy's own median loads masked arrays)."""
        ranked = np.sort(self.pitch)
        return float(ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]) / 2


def rows_of(piece: Piece) -> Iterator[Row]:
    """Every row of beads, in order."""
    for feature, call in piece.with_role(Role.BEAD):
        bead = call.get("across")
        if not call.given("along") or len(feature.frames) < FEWEST:
            continue
        centres = feature.frames[:, :, 3] + feature.frames[:, :, 2] * bead / 2
        pitch = np.linalg.norm(np.diff(centres, axis=0), axis=1)
        near = pitch[pitch < 4 * bead] if (pitch < 4 * bead).any() else pitch
        yield Row(feature.index, float(bead), centres, near)
