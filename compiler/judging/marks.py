"""Marks with straight sides, cut in or standing up, and how wide their strokes are. Lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import PRISM
from ..geometry.outlines import signed_area, trace_all

if TYPE_CHECKING:
    from .piece import Piece
    from .plan_solids import PlanSolid

FINE = 0.01  # mm, chord error of the strokes measured


def finest_mark(piece: Piece, line: int) -> tuple[float, PlanSolid] | None:
    """The mark of a line that has the thinnest strokes in the mean, and their width."""
    marks = [one for one in piece.plan_solids if one.feature == line and one.kind in (PRISM, "hole")]
    return min(((_stroke(one), one) for one in marks), key=lambda found: found[0], default=None)


def _stroke(mark: PlanSolid) -> float:
    """Mean width of a mark: twice its area over its whole edge, as of a long thin strip."""
    loops = trace_all(mark.figures[0], FINE)
    area = sum(signed_area(loop) for loop in loops)
    edge = sum(
        float(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum()) for loop in loops
    )
    return 2 * area / edge
