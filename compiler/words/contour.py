"""Clauses that give a flat outline, shared by plate, pierce and engrave: shapes of stones,
polygons, own lines, drawings."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ...stdlib.cuts import CUTS
from ..bench.feature import Drawn, Lines, Offer
from ..geometry import frames as fr
from ..geometry.line import Line, ring
from ..geometry.outlines import Outline, crosses_itself, signed_area, trace_all
from .common import count, length, size
from .crescents import crescent
from .lettering import lettered

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

# Outlines that are also the girdles of stones: a plate can follow its stone.
STONE_OUTLINES = ("pear", "marquise", "cushion", "heart", "trillion")
_STANDING = "or upright as width x height"
_POINTED = dict.fromkeys(("heart", "trillion"), "a point to the right, or 'upright'")
SLIM = "pear", "marquise"  # outlines that metal may have slimmer than any stone, as a feather or a blade
SLIMMEST = 12.0  # times as long as wide
QUARTERS = {"heart": 3}  # turns that set an outline upright, else one: a heart stands on its point
CONTOUR: tuple[Take, ...] = (
    length("round", "a circle of this diameter"),
    size("oval", "an ellipse, across x up: 18 x 24 mm stands upright, its 'top' above", 2),
    size("rectangle", "length x width, 'corner' rounds it", 2),
    *(
        size(name, f"the outline of a {name} stone, length x width, {_POINTED.get(name, _STANDING)}", 2)
        for name in STONE_OUTLINES
    ),
    count("polygon", "a regular outline with so many corners, 'across' them", least=3, most=360),
    count("star", "a star of so many points, one of them up, 'across' them", least=4, most=60),
    Take(
        "upright", Kind.FLAG, "its point above, a heart's below; a crescent's horns above",
        goes_with=(*STONE_OUTLINES, "crescent"),
    ),
    Take(
        "notch", Kind.PERCENT, "how far a star goes in between its points, of the way to its middle",
        least=0.05, most=0.95, goes_with=("star",),
    ),
    size("cross", "a cross, width x height, at its crossing: its arms and head equally long", 2),
    length("arms", "how wide the arms of a cross are", goes_with=("cross",)),
    size("crescent", "a moon, width of its round x width of its belly, its horns to the right", 2),
    length("horns", "how far the horns of a crescent stand apart", goes_with=("crescent",)),
    Take("outline", Kind.PATH, "a closed path of your own"),
    Take("drawing", Kind.TEXT, "the closed paths of an .svg file in the folder of the piece",
         like='"leaf.svg"'),
    length(
        "corner", "rounds the corners of a rectangle, the points of a star or the horns of a crescent",
        zero=True, goes_with=("rectangle", "star", "crescent"),
    ),
    length(
        "across", "of a polygon or a star, over its corners; of a drawing, from left to right",
        goes_with=("polygon", "star", "drawing"),
    ),
)
STRAIGHT = 5, 6  # points of a star whose sides lie in line, two and two
CONTOURS = (
    "round", "oval", "rectangle", *STONE_OUTLINES, "polygon", "star", "cross", "crescent", "outline",
    "drawing",
)
ARMS = 0.2  # of its width, a cross whose arms are not said: common practice


def contour(bench: PieceBench, call: Call) -> Outline:
    """The outline a line gives; the evaluator has seen to it that exactly one is given."""
    if call.given("letters"):
        return lettered(bench, call)
    name = next(key for key in CONTOURS if call.given(key))
    if name == "drawing":
        from .drawings import drawing

        return drawing(bench, call, call.get("across"))
    if name == "outline":
        return _own(bench, call)
    if name == "crescent":
        drawn = crescent(call).outline
        return ("turned", drawn) if call.get("upright") else drawn
    return DRAWN[name](call, call.get(name)) if name in DRAWN else _as_stone(call, name, call.get(name))


DRAWN: dict[str, Callable[[Call, Any], Outline]] = {
    "round": lambda call, across: ("circle", across),
    "oval": lambda call, size: ("ellipse", *size),
    "rectangle": lambda call, size: _rectangle(call, size),
    "polygon": lambda call, corners: ("polygon", corners, _across(call, "polygon")),
    "star": lambda call, points: _star(call, points),
    "cross": lambda call, size: _cross(call, *size),
}


def _as_stone(call: Call, name: str, value: tuple[float, float]) -> Outline:
    """The outline of a stone of that cut; of some, slimmer than any stone is cut."""
    most = CUTS[name].ratios[1] * min(value)
    slim = name in SLIM and most < max(value) <= SLIMMEST * min(value)
    upright = value[1] > value[0] if slim else CUTS[name].stands(*value)
    long, wide = reversed(value) if upright else value
    problem = CUTS[name].problem(most, wide) if slim else CUTS[name].problem(long, wide)
    if problem:
        remedy = "change the size; what is no stone may be an oval, or an outline of your own"
        call.refuse("odd-size", problem, name, remedy=remedy)
    outline: Outline = ("stone", name, long, wide)
    if slim:
        outline = ("drawn-out", ("stone", name, most, wide), long / most)
    for _ in range(QUARTERS.get(name, 1) if upright or call.get("upright") else 0):
        outline = ("turned", outline)
    return outline


def _rectangle(call: Call, value: tuple[float, float]) -> Outline:
    corner = call.get("corner", 0.0)
    if corner > min(value) / 2 + 1e-9:
        call.refuse(
            "corner-too-round", f"a corner of {corner:g} mm does not fit {min(value):g} mm", "corner",
            seen=f"{corner:g} mm", limit=f"{min(value) / 2:g} mm", remedy="make the corner smaller",
        )
    return ("rectangle", *value, min(corner, min(value) / 2))


def _cross(call: Call, wide: float, high: float) -> Outline:
    arms, most = call.get("arms", ARMS * wide), min(wide, high)
    if arms > 0.95 * most:
        call.refuse(
            "out-of-range", "arms so wide leave no cross", "arms", seen=f"{arms:g} mm",
            limit=f"less than {0.95 * most:.3g} mm", remedy="make them narrower, or the cross larger",
        )
    return ("cross", wide, high, arms)


def _across(call: Call, name: str) -> float:
    across: float | None = call.get("across")
    if across is None:
        call.refuse("clause-missing", f"{name} wants 'across'", name, remedy="add 'across 8 mm'")
    return across


def _star(call: Call, points: int) -> Outline:
    """A star whose rounded points reach as far as `across` says."""
    half = math.pi / points
    deep = call.get("notch", 1 - math.cos(2 * half) / math.cos(half) if points in STRAIGHT else 0.5)
    least = 1 - math.cos(half)
    if deep <= least:
        call.refuse(
            "out-of-range", f"so shallow a notch leaves {points} straight sides", "notch",
            seen=f"{100 * deep:.3g} %", limit=f"over {100 * least:.3g} %",
            remedy="make it deeper, or take a polygon",
        )
    wide = math.atan2((1 - deep) * math.sin(half), 1 - (1 - deep) * math.cos(half))  # half of a point
    corner = call.get("corner", 0.0)
    reach = _across(call, "star") / 2 + corner * (1 / math.sin(wide) - 1)
    side = reach * math.sin(half) * (1 - deep) / math.sin(wide)
    along = corner / math.tan(wide)
    if along > side - 0.01:
        call.refuse(
            "corner-too-round", f"a corner of {corner:g} mm leaves no straight side of this star", "corner",
            seen=f"{corner:g} mm", limit=f"less than {corner * side / along:.2g} mm",
            remedy="make the corner smaller",
        )
    spots: list[tuple[float, float, float, str]] = []
    for k in range(points):
        up, turned = (np.array([math.cos(a), math.sin(a)]) for a in _quarters(2 * half * k))
        tip = [(reach, 0.0, "to")]
        if corner > 0:
            back, off = reach - along * math.cos(wide), along * math.sin(wide)
            tip = [(back, -off, "to"), (call.get("across") / 2, 0.0, "over"), (back, off, "to")]
        valley = reach * (1 - deep) * math.cos(half), reach * (1 - deep) * math.sin(half), "to"
        spots += [(*np.round(x * up + y * turned, 9).tolist(), 0.0, joint) for x, y, joint in (*tip, valley)]
    return ("path", tuple(spots))


def _quarters(turn: float) -> tuple[float, float]:
    """A way that many radians from straight up, and the one square to it."""
    return math.pi / 2 + turn, math.pi + turn


def _own(bench: PieceBench, call: Call) -> Outline:
    value = call.get("outline")
    turn = bench.turned_as(call, value) if isinstance(value, Drawn) else 0.0
    lines = [line.moved(fr.turned(2, turn)[0]) if turn else line for line in value.lines]
    loops = [loop(call, line) for line in lines]
    if len(loops) == 1:
        points = loops[0] if signed_area(loops[0]) > 0 else loops[0][::-1]
        return ("points", tuple(map(tuple, points.tolist())))
    return ("drawing", tuple(tuple(map(tuple, loop.tolist())) for loop in loops))


def loop(call: Call, line: Line) -> np.ndarray:
    """The points (n, 2) of an outline of one's own, as it runs."""
    points = line.points[:, :2]
    if not line.closed or np.ptp(line.points[:, 2]) > 1e-6:
        what = "is open" if not line.closed else "is not flat"
        call.refuse(
            "path-not-closed", f"an outline is a flat closed path; this one {what}", "outline",
            remedy="add 'closed' to the path, and keep its spots at one height",
        )
    coarse = points[:: max(1, len(points) // 600)]
    if abs(signed_area(points)) < 1e-4 or crosses_itself(coarse):
        call.refuse(
            "path-crosses-itself", "this outline crosses itself or encloses nothing", "outline",
            remedy="change its spots so that it runs once round",
        )
    return np.round(points, 9)


def edges(outline: Outline, high: float, low: float | None) -> dict[str, Offer]:
    """What a cut of an outline, or metal raised in one, offers: the edges of its mouth or top and of its
    floor, where it has one."""
    offers = {"rim": lambda: Lines(tuple(ring(one, high) for one in trace_all(outline)), True)}
    if low is not None:
        offers["floor-rim"] = lambda: Lines(tuple(ring(one, low) for one in trace_all(outline)), True)
    return offers


EDGES_HELP = {
    "rim": "the edge of its outline at its mouth, or at the top where it is raised, a closed path",
    "floor-rim": "the same edge at its floor",
}
