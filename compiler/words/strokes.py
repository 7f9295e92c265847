"""The graver's stroke: a groove of one width and depth along a line."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ..bench.along import LAID, ways
from ..bench.feature import Feature, Lines
from ..bench.feature import length as mm
from ..bench.hatched import hatched
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed, without
from ..bench.plan import Shape
from ..geometry.line import Line
from .borders import border_lines
from .spared import spared
from .too_tight import Stretches, not_too_tight
from .wires import swept

GRAVERS = ("vee", "round", "flat")
# A tool stands this far over the line, for a face that rises beside it, mm at most.
ABOVE = 0.3


def stroke(bench: PieceBench, call: Call, into: tuple[int, ...] | None) -> Feature:
    """A groove cut along each of the lines, as deep below them as they look; raised, a ridge as high."""
    wide, deep, raised = call.get("stroke"), call.get("deep"), bool(call.get("raised"))
    over = call.given("upon")
    frames = placed(without(call, *LAID, *("upon", "every", "turn") * over))
    made, drawn = bench.new_feature(call, frames), []
    for line in hatched(call) if over else ways(call):
        for part in [line] if over else spared(call, line):
            drawn += border_lines(call, part) if call.given("border") else [part]
    usual = "round" if raised else "flat" if call.given("filled") else "vee"
    graver = call.get("cut") if call.given("cut") else usual
    for line in drawn:
        parts = not_too_tight(call, line, wide / 2 * np.array([(1.0, 0.0), (-1.0, 0.0)]))
        for tool in _tools(line, graver, wide, deep, parts, call.get("root") if raised else None):
            if raised:
                bench.add(made, tool, frames, call.get("metal"))
            else:
                bench.cut(made, tool, frames, into)
    made.offers = {
        "deep": lambda: mm(deep),
        "wide": lambda: mm(wide),
        "path": lambda: Lines(tuple(drawn)),
    }
    return made


def _tools(
    line: Line, graver: str, wide: float, deep: float, parts: Stretches, root: float | None
) -> list[Shape]:
    """What the graver takes away, its flat side out: a wire that looks into the metal; of raised work, with a
    ``root``, what stands out of it."""
    way, beyond = (-1.0, min(ABOVE, deep / 2)) if root is None else (1.0, root)
    name, high, shift = "flat", deep + beyond, way * (deep - beyond) / 2
    if graver != "flat":  # straight sides above, and half an ellipse or two slopes as deep as it cuts
        name, high, shift = "d" if graver == "round" else "vee", 2 * deep, 0.0
    seen = Line(line.points + shift * line.outs, way * line.outs, line.closed)
    if line.closed and root is None:  # its inner side stays to the left
        seen = Line(seen.points[::-1], seen.outs[::-1], True)
        whole, last_spot = line.length(), line.length() - float(np.linalg.norm(line.chords()[-1]))
        starts = [((last_spot - last) % whole, last - first) for first, last in parts]
        parts = tuple((start, start + long) for start, long in starts)
    return swept(seen, (name, wide, high), parts, tips=graver != "flat" and not line.closed)


def stroke_takes_its_line(call: Call) -> None:
    """Raises Refused where a stroke has no line to run along."""
    if not call.given("along") and not call.given("upon"):
        call.refuse(
            "clause-missing", "a stroke runs along a path, or many lie upon a face", "stroke",
            remedy="add 'along' a path of yours, a rim or a wire's path; or 'upon' a part, and 'every'",
        )
