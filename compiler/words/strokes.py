"""The graver's stroke: a groove of one width and depth along a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..bench.feature import Feature, Lines
from ..bench.feature import length as mm
from ..bench.placement import placed
from ..bench.plan import Shape
from ..geometry.line import Line
from .lines import _without
from .wires import Stretches, not_too_tight, swept

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

GRAVERS = ("vee", "round", "flat")
# A tool stands this far over the line, for a face that rises beside it, mm at most.
ABOVE = 0.3


def stroke(bench: PieceBench, call: Call, into: tuple[int, ...] | None) -> Feature:
    """A groove cut along each of the lines, as deep below them as they look."""
    wide, deep = call.get("stroke"), call.get("deep")
    lines: Lines = call.get("along")
    frames = placed(_without(call, ("along", "inset")))
    made = bench.new_feature(call, frames)
    for line in lines.lines:
        moved = line.inset(call.get("inset", 0.0))
        if moved is None or len(moved.points) < 2:
            call.refuse(
                "inset-too-far",
                "nothing is left of the path so far in from itself",
                "inset",
                remedy="make the inset smaller",
            )
        parts = not_too_tight(call, moved, wide / 2 * np.array([(1.0, 0.0), (-1.0, 0.0)]))
        for tool in _tools(moved, call.get("cut"), wide, deep, parts):
            bench.cut(made, tool, frames, into)
    made.offers = {
        "deep": lambda: mm(deep),
        "wide": lambda: mm(wide),
        "path": lambda: Lines(lines.lines),
    }
    return made


def _tools(
    line: Line, graver: str, wide: float, deep: float, parts: Stretches
) -> list[Shape]:
    """What the graver takes away, its flat side out: a wire that looks into the metal."""
    above = min(ABOVE, deep / 2)
    high = deep + above
    if graver == "round":  # straight sides above, half an ellipse as deep as it cuts
        name, high, shift = "d", 2 * deep, 0.0
    elif graver == "flat":
        name, shift = "flat", (above - deep) / 2
    else:
        name, shift = "knife-edge", (above - deep) / 2
        wide *= high / deep
    seen = Line(line.points + shift * line.outs, -line.outs, line.closed)
    if line.closed:  # its inner side stays to the left
        seen = Line(seen.points[::-1], seen.outs[::-1], True)
        whole, last_spot = line.length(), line.length() - float(np.linalg.norm(line.chords()[-1]))
        starts = [((last_spot - last) % whole, last - first) for first, last in parts]
        parts = tuple((start, start + long) for start, long in starts)
    return swept(seen, (name, wide, high), parts, tips=graver != "flat" and not line.closed)


def stroke_takes_its_line(call: Call) -> None:
    """Raises Refused where a stroke has no line to run along."""
    if not call.given("along"):
        call.refuse(
            "clause-missing",
            "a stroke runs along a path",
            "stroke",
            remedy="add 'along' a path of yours, a rim or a wire's path",
        )
