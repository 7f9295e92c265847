"""How close the letters of one text come to one another, as they stand on their face. Lengths mm."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import PRISM
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace_all

if TYPE_CHECKING:
    from .piece import Piece

FINE = 0.01  # mm, chord error of the edges looked along


def closest_letters(piece: Piece, line: int) -> tuple[float, np.ndarray] | None:
    """The least metal, or air, between two letters of a line that neither touch nor cross, and where (3,);
    None of fewer than two such."""
    marks = (one for one in piece.plan_solids if one.feature == line and one.kind == PRISM)
    solids = [one for one in marks if one.bent is None]
    stood = [(trace_all(one.figures[0], FINE), frame) for one in solids for frame in one.frames]
    found = []
    for (loops, frame), (others, other) in itertools.combinations(stood, 2):
        local = fr.compose(fr.inverse(frame)[None], other[None])[0]
        moved = [fr.apply(local, np.column_stack([one, np.zeros(len(one))]))[:, :2] for one in others]
        apart = _apart(loops, moved)
        if apart > 0:
            found.append((apart, (frame[:, 3] + other[:, 3]) / 2))
    return min(found, key=lambda one: one[0], default=None)


def _apart(one: list[np.ndarray], other: list[np.ndarray]) -> float:
    """How far loops lie from others, mm: the nearest spot of two is a corner of either; less than zero where
    they cross; that of their boxes where it is more than they are wide."""
    a, b = np.concatenate(one), np.concatenate(other)
    boxes = np.maximum(a.min(axis=0) - b.max(axis=0), b.min(axis=0) - a.max(axis=0)).max()
    if boxes > np.ptp(a, axis=0).max():
        return float(boxes)
    return float(min(-inside_loops(one, b).max(), -inside_loops(other, a).max()))
