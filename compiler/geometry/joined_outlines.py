"""Closed flat lines put together into one rim, or taken from one another."""

from __future__ import annotations

import numpy as np

from . import frames as fr
from .line import Line, ring
from .outlines import without_repeats
from .parallels import signed_area

LEAST = 1e-4  # mm2; smaller loops are dust
NEAR = 1e-6  # mm between spots that are one


def combined(first: tuple[Line, ...], operator: str, second: tuple[Line, ...]) -> tuple[Line, ...] | None:
    """The rims of what ``first`` and ``second`` hold together ("+"), or of the first without the
    second ("-"), in the plane of the first; None unless all are flat, closed and look one way.
    Holes run the other way round than rims."""
    frame = _plane(first[0])
    if frame is None:
        return None
    if any(_plane(line) is None or line.outs[0] @ frame[:, 2] < 1 - 1e-9 for line in (*first, *second)):
        return None
    back = fr.inverse(frame)
    one, other = ([fr.apply(back, line.points)[:, :2] for line in lines] for lines in (first, second))
    return tuple(ring(loop, 0.0).moved(frame) for loop in _worked(one, operator, other))


def _plane(line: Line) -> np.ndarray | None:
    """A (3, 4) frame whose x-y plane holds the line, near the piece's own; None if it is not flat."""
    out = line.outs[0]
    if not line.closed or np.abs(line.outs - out).max() > 1e-9:
        return None
    if np.abs((line.points - line.points[0]) @ out).max() > NEAR:
        return None
    right = np.array([1.0, 0.0, 0.0]) if abs(out[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    right = right - (right @ out) * out
    origin = (line.points[0] @ out) * out
    return fr.from_axes(origin[None], right[None], out[None])[0]


def _worked(first: list[np.ndarray], operator: str, second: list[np.ndarray]) -> list[np.ndarray]:
    from manifold3d import CrossSection, FillRule

    one, other = (CrossSection(loops, FillRule.EvenOdd) for loops in (first, second))
    made = one + other if operator == "+" else one - other
    loops = [without_repeats(np.asarray(loop, dtype=float), NEAR) for loop in made.to_polygons()]
    kept = [loop for loop in loops if len(loop) > 2 and abs(signed_area(loop)) > LEAST]
    return sorted(kept, key=lambda loop: -abs(signed_area(loop)))
