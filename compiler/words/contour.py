"""Clauses that give a flat outline, shared by plate, pierce and engrave: shapes of stones,
polygons, own lines, drawings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ...stdlib.cuts import CUTS
from ..geometry.line import Line
from ..geometry.outlines import Outline, crosses_itself, signed_area
from .common import count, length, size

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

# Outlines that are also the girdles of stones: a plate can follow its stone.
STONE_OUTLINES = ("pear", "marquise", "cushion", "heart", "trillion")
# Of these, which are the same both ends: their first figure may be the smaller, and they stand upright.
BOTH_WAYS = ("marquise", "cushion")
CONTOUR: tuple[Take, ...] = (
    length("round", "a circle of this diameter"),
    size("oval", "an ellipse, across x up: 18 x 24 mm stands upright, its 'top' above", 2),
    size("rectangle", "length x width, 'corner' rounds it", 2),
    *(
        size(name, f"the outline of a {name} stone, length x width", 2)
        for name in STONE_OUTLINES
    ),
    count(
        "polygon", "a regular outline with so many corners, 'across' them", least=3, most=360
    ),
    Take("outline", Kind.PATH, "a closed path of your own"),
    Take("drawing", Kind.TEXT, "the closed paths of an .svg file in the folder of the piece",
         like='"leaf.svg"'),
    length("corner", "rounds the corners of a rectangle", zero=True, goes_with=("rectangle",)),
    length(
        "across",
        "of a polygon, over its corners; of a drawing, from left to right",
        goes_with=("polygon", "drawing"),
    ),
)
CONTOURS = ("round", "oval", "rectangle", *STONE_OUTLINES, "polygon", "outline", "drawing")


def contour(bench: PieceBench, call: Call) -> Outline:
    """The outline a line gives; the evaluator has seen to it that exactly one is given."""
    name = next(key for key in CONTOURS if call.given(key))
    value = call.get(name)
    if name == "round":
        return ("circle", value)
    if name == "oval":
        return ("ellipse", *value)
    if name == "rectangle":
        return _rectangle(call, value)
    if name == "polygon":
        return _polygon(call, value)
    if name == "outline":
        return _own(call, value)
    if name == "drawing":
        from .drawings import drawing

        return drawing(bench, call, call.get("across"))
    upright = name in BOTH_WAYS and value[0] < value[1]
    long, wide = reversed(value) if upright else value
    problem = CUTS[name].problem(long, wide)
    if problem:
        remedy = "change the size; what is no stone may be an oval, or an outline of your own"
        call.refuse("odd-size", problem, name, remedy=remedy)
    return ("turned", ("stone", name, long, wide)) if upright else ("stone", name, *value)


def _rectangle(call: Call, value: tuple[float, float]) -> Outline:
    corner = call.get("corner", 0.0)
    if corner > min(value) / 2 + 1e-9:
        call.refuse(
            "corner-too-round",
            f"a corner of {corner:g} mm does not fit {min(value):g} mm",
            "corner",
            seen=f"{corner:g} mm",
            limit=f"{min(value) / 2:g} mm",
            remedy="make the corner smaller",
        )
    return ("rectangle", *value, min(corner, min(value) / 2))


def _polygon(call: Call, sides: int) -> Outline:
    across = call.get("across")
    if across is None:
        call.refuse(
            "clause-missing",
            "polygon wants 'across'",
            "polygon",
            remedy="add 'across 8 mm'",
        )
    return ("polygon", sides, across)


def _own(call: Call, value: Any) -> Outline:
    loops = [_loop(call, line) for line in value.lines]
    if len(loops) == 1:
        points = loops[0] if signed_area(loops[0]) > 0 else loops[0][::-1]
        return ("points", tuple(map(tuple, points.tolist())))
    return ("drawing", tuple(tuple(map(tuple, loop.tolist())) for loop in loops))


def _loop(call: Call, line: Line) -> np.ndarray:
    """The points (n, 2) of an outline of one's own, as it runs."""
    points = line.points[:, :2]
    if not line.closed or np.ptp(line.points[:, 2]) > 1e-6:
        what = "is open" if not line.closed else "is not flat"
        call.refuse(
            "path-not-closed",
            f"an outline is a flat closed path; this one {what}",
            "outline",
            remedy="add 'closed' to the path, and keep its spots at one height",
        )
    coarse = points[:: max(1, len(points) // 600)]
    if abs(signed_area(points)) < 1e-4 or crosses_itself(coarse):
        call.refuse(
            "path-crosses-itself",
            "this outline crosses itself or encloses nothing",
            "outline",
            remedy="change its spots so that it runs once round",
        )
    return np.round(points, 9)
