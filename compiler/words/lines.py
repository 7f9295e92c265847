"""Lines and spots of one's own: no metal, only where metal can go."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines, number
from ..bench.path import PATH_HELP, path_offers
from ..bench.placement import no_inset, part_of, placed
from ..geometry.line import Line
from ..geometry.outlines import arc_points
from ..geometry.smooth import smooth
from .common import length

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

LEAST_STEP = 1e-4  # mm; spots nearer than this are one spot


def _line(bench: PieceBench, call: Call) -> Feature:
    lines = beside(call) if call.given("beside") else (_through(call),)
    if call.get("edgewise"):
        lines = tuple(line.edgewise() for line in lines)
    frames = placed(_without(call, ("inset", "part")))
    feature = bench.new_feature(call, frames)
    feature.offers = path_offers(lines[0])
    feature.offers["path"] = lambda: Lines(lines)
    return feature


def _without(call: Call, keys: tuple[str, ...]) -> Call:
    arguments = {key: value for key, value in call.arguments.items() if key not in keys}
    return replace(call, arguments=arguments)


def beside(call: Call) -> tuple[Line, ...]:
    """The lines of `beside`: parts of them, moved in, out to the side, or along their outs."""
    made = []
    by = call.get("inset", 0.0) - call.get("outset", 0.0)
    for line in call.get("beside").lines:
        moved = line.inset(by)
        if moved is None or len(moved.points) < 2:
            no_inset(call)
        rise = call.get("rise", 0.0)
        moved = Line(moved.points + rise * moved.outs, moved.outs, moved.closed)
        part = part_of(call, moved.closed)
        made.append(moved if part is None else moved.part(*part))
    return tuple(made)


def _through(call: Call) -> Line:
    spots = call.get("through")
    points = np.array([spot[:3] for spot in spots], dtype=float)
    closed = bool(call.get("closed"))
    if len(points) < 2 or (closed and len(points) < 3):
        call.refuse(
            "line-too-short",
            f"a line through {len(points)} spot{'s' * (len(points) != 1)} leads nowhere",
            "through",
            seen=str(len(points)),
            limit="3 spots for a closed line, 2 for an open one",
            remedy="add spots with 'to (5, 0 mm)'",
        )
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if (steps < LEAST_STEP).any() or (
        closed and np.linalg.norm(points[0] - points[-1]) < LEAST_STEP
    ):
        call.refuse(
            "spots-coincide",
            "two spots in a row are the same",
            "through",
            remedy="leave one out (a closed line goes back to its first spot by itself)",
        )
    path = smooth(points, closed) if call.get("smooth") else drawn(spots, closed)
    return Line(path, _outs(path, closed), closed)


def drawn(spots: Any, closed: bool) -> np.ndarray:
    """Straight runs and arcs through the spots (k, 3)."""
    points = [np.array([spots[0][:3]], dtype=float)]
    index = 1
    while index < len(spots):
        if spots[index][3] == "over":
            last = index + 1 >= len(spots)
            end = spots[0] if last else spots[index + 1]
            points.append(arc_points(spots[index - 1][:3], spots[index][:3], end[:3], None))
            if last:  # the arc closes the line
                points[-1] = points[-1][:-1]
            index += 2
        else:
            points.append(np.array([spots[index][:3]], dtype=float))
            index += 1
    return np.concatenate(points)


def _outs(path: np.ndarray, closed: bool) -> np.ndarray:
    """Outward at each point: toward the onlooker for a flat line, else carried without
    twist."""
    height = np.ptp(path[:, 2])
    if height < 1e-9:
        return np.tile([0.0, 0.0, 1.0], (len(path), 1))
    chords = np.roll(path, -1, axis=0) - path
    if not closed:
        chords[-1] = chords[-2]
    unit = chords / np.linalg.norm(chords, axis=1, keepdims=True)
    outs = np.zeros_like(path)
    start = np.array([0.0, 0.0, 1.0])
    if abs(unit[0] @ start) > 0.98:
        start = np.array([0.0, 1.0, 0.0])
    outs[0] = _square(start, unit[0])
    for k in range(1, len(path)):
        outs[k] = _square(outs[k - 1], unit[k])
    return outs


def _square(vector: np.ndarray, unit: np.ndarray) -> np.ndarray:
    rest = vector - (vector @ unit) * unit
    return rest / np.linalg.norm(rest)


def _spots(bench: PieceBench, call: Call) -> Feature:
    frames = placed(call)
    feature = bench.new_feature(call, frames)
    feature.offers = {"count": lambda: number(len(frames))}
    return feature


_BESIDE, _THROUGH = ("beside",), ("through",)
WORDS = (
    Word(
        "line",
        "A line to run things along: straight runs with 'to', arcs with 'over'.",
        "lines",
        (
            Take(
                "through",
                Kind.POINTS,
                "its spots: (0, 0) to (4, 0 mm) over (6, 2 mm) to (4, 4 mm)",
            ),
            Take(
                "beside", Kind.LINE, "made from another line: a rim, a girdle, a line of yours"
            ),
            length(
                "outset", "moved to the outer side of that line", zero=True, goes_with=_BESIDE
            ),
            length(
                "inset",
                "moved to the inner (left) side of that line",
                zero=True,
                goes_with=_BESIDE,
            ),
            Take(
                "rise",
                Kind.LENGTH,
                "moved the way that line looks; below it when less than zero",
                goes_with=_BESIDE,
            ),
            Take(
                "edgewise",
                Kind.FLAG,
                "looks to its outer (right) side, so that flat wire along it stands on edge",
            ),
            Take(
                "part",
                Kind.ANY,
                "only a part of that line, in shares of it: part 25 % to 75 %",
                goes_with=_BESIDE,
            ),
            Take("closed", Kind.FLAG, "goes back to its first spot", goes_with=_THROUGH),
            Take(
                "smooth", Kind.FLAG, "a flowing curve through the spots", goes_with=_THROUGH
            ),
        ),
        one_of=(("through", "beside"),),
        example="line wave: through (0, 0) to (4, 2 mm) to (8, 0 mm), smooth",
        offers=PATH_HELP,
        stands=False,
        made_by=_line,
    ),
    Word(
        "spots",
        "Places without metal, laid out by the placing clauses, for 'at' to use.",
        "lines",
        (),
        example="spots dots: circle 6, radius 5 mm",
        offers={"count": "how many"},
        made_by=_spots,
    ),
)
