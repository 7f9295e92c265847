"""What is written into a picture: arrows with a word, measure lines between two spots, and the outlines of a
body cut through. Figures are in mm of paper unless told otherwise."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .chains import chains
from .paper import BLACK, FIGURE
from .svg import UNITS, element, through, words

Spot = tuple[float, float]
_HEAD = (2.2, 0.6)  # length and half width of an arrow
_FINE = 1000  # steps to a mm, in which the ends of cut faces are joined


def arrow(start: Spot, end: Spot, word: str, colour: str) -> list[str]:
    """An arrow with ``word`` beyond its tip."""
    dx, dy = _way(start, end)
    back = (end[0] - dx * _HEAD[0], end[1] - dy * _HEAD[0])
    side = (-dy * _HEAD[1], dx * _HEAD[1])
    corners = [end, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])]
    anchor = "middle" if abs(dx) < 0.5 else ("start" if dx > 0 else "end")
    far = (end[0] + dx * 1.5, end[1] + dy * 1.5 + (FIGURE * 0.36 if abs(dx) >= 0.5 else 0.0))
    if abs(dx) < 0.5 and dy > 0:
        far = (far[0], far[1] + FIGURE * 0.8)
    return [
        element("path", stroke=colour, stroke_width=12, d=through([start, back])),
        element("path", fill=colour, d=through(corners, closed=True)),
        words(word, far[0] * UNITS, far[1] * UNITS, FIGURE * 1.2, fill=colour, text_anchor=anchor),
    ]


def measured(start: Spot, end: Spot, word: str, at: Spot, anchor: str = "start") -> list[str]:
    """A line with a dash across at either end, its word at a spot of its own."""
    dx, dy = _way(start, end)
    dashes = [((x - dy * 1.2, y + dx * 1.2), (x + dy * 1.2, y - dx * 1.2)) for x, y in (start, end)]
    data = through([start, end]) + "".join(through(dash) for dash in dashes)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    lead = through([middle, (at[0] + (-1.0 if anchor == "start" else 1.0), at[1] - FIGURE * 0.36)])
    return [
        element("path", stroke="#c0392b", stroke_width=7, d=data),
        element("path", stroke="#c0392b", stroke_width=3, d=lead),
        words(word, at[0] * UNITS, at[1] * UNITS, FIGURE * 1.2, fill=BLACK, text_anchor=anchor),
    ]


def dashed(start: Spot, end: Spot) -> list[str]:
    """A fine line in dashes."""
    data = through([start, end])
    return [element("path", stroke=BLACK, stroke_width=3, stroke_dasharray="20 14", d=data)]


def cut_through(points: np.ndarray, triangles: np.ndarray) -> list[np.ndarray]:
    """The closed outlines (k, 2), mm right and out, of a closed mesh cut through at up 0."""
    corners = points[triangles]
    side = corners[:, :, 1] > 1e-9
    crossed = side.any(axis=1) & ~side.all(axis=1)
    pairs = zip(corners[crossed], side[crossed], strict=True)
    ends = np.array([_crossing(one, above) for one, above in pairs])
    return [run / _FINE for run in chains(ends * _FINE)] if len(ends) else []


def _crossing(corners: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Where two sides of a triangle go through the plane, (2, 2)."""
    spots = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        if above[a] != above[b]:
            low, high = (a, b) if above[b] else (b, a)  # the same way round from both triangles
            t = -corners[low, 1] / (corners[high, 1] - corners[low, 1])
            spots.append((corners[low] + t * (corners[high] - corners[low]))[[0, 2]])
    return np.array(spots)


def filled(loops: Sequence[np.ndarray], middle: Spot, scale: float, colour: str) -> str:
    """The outlines in a ``colour``, ``scale`` times their size, their origin at ``middle``."""
    data = "".join(
        through([(middle[0] + x * scale, middle[1] - y * scale) for x, y in loop.tolist()], closed=True)
        for loop in loops
    )
    return element("path", fill=colour, fill_rule="evenodd", stroke=BLACK, stroke_width=5, d=data)


def _way(start: Spot, end: Spot) -> Spot:
    long = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / long, (end[1] - start[1]) / long


