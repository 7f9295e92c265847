"""Outlines from the closed paths of a drawing (an SVG file, W3C SVG 1.1), read by `svgelements`."""

from __future__ import annotations

import io
import math
from typing import Any, NoReturn

import numpy as np

from ...lang.bench import Call
from ..bench.piece_bench import PieceBench
from ..geometry.outlines import Outline, signed_area
from .project_files import read

MOST_PATHS = 2_000
MOST_SEGMENTS = 3_000  # straight or curved, of all paths together
MOST_POINTS = 40_000
MOST_BYTES = 300_000
MOST_DEPTH = 40  # of groups in groups
CHORD = 0.002  # mm, how near its chords follow a curve
LEAST_AREA = 1e-3  # mm2; smaller islands are dust


def drawing(bench: PieceBench, call: Call, across: float | None) -> Outline:
    """The outline drawn in the file of clause `drawing`, its middle at the ground, ``across``
    mm from left to right (its own mm without it)."""
    data = read(bench, call, "drawing", (".svg",))
    try:
        loops = _loops(data, across)
    except ImportError:
        call.refuse(
            "extra-missing", "reading drawings needs the package svgelements", "drawing",
            remedy="pip install fonttools font-source-serif-pro svgelements",
        )
    except Drawn as slip:
        _unread(call, str(slip))
    except Exception as slip:  # the reader's own errors on broken files, of any kind
        _unread(call, f"the reader gave up: {type(slip).__name__}")
    return "drawing", tuple(tuple((float(x), float(y)) for x, y in loop) for loop in loops)


class Drawn(ValueError):
    """Why a drawing cannot be used, in words for the user."""


def _unread(call: Call, why: str) -> NoReturn:
    call.refuse(
        "drawing-not-read", f"no outline comes of {call.get('drawing')}: {why}", "drawing",
        remedy=(
            "draw closed paths, with clones and texts turned into paths, and save as plain SVG"
        ),
    )


def _loops(data: bytes, across: float | None) -> list[np.ndarray]:
    if len(data) > MOST_BYTES:
        raise Drawn(f"it is larger than {MOST_BYTES:,} bytes")
    text = data.decode("utf-8", "replace")
    for hostile in ("<!DOCTYPE", "<!ENTITY", "<use", "<svg:use"):
        if hostile in text:
            raise Drawn(f"it holds {hostile}, which is not followed")
    _measure(text)
    paths = _paths(text)
    # A first reading at the drawing's own size tells its width, a second follows its curves.
    rough = np.concatenate([_flat(loop, 0.5) for path, _ in paths for loop in path])
    low, high = rough.min(axis=0), rough.max(axis=0)
    wide = float(high[0] - low[0])
    if wide <= 0:
        raise Drawn("it has no width")
    scale = 1.0 if across is None else across / wide
    return clean(
        [
            (
                [
                    (_flat(loop, CHORD / scale) - (low + high) / 2) * (scale, -scale)
                    for loop in path
                ],
                rule,
            )
            for path, rule in paths
        ]
    )


def _measure(text: str) -> None:
    """See that the file is well formed and no larger than can be read in good time."""
    from xml.etree import ElementTree

    depth = number = 0
    try:
        for event, _ in ElementTree.iterparse(io.StringIO(text), ("start", "end")):
            depth += 1 if event == "start" else -1
            number += event == "start"
            if depth > MOST_DEPTH or number > MOST_PATHS:
                raise Drawn(f"it has more than {MOST_PATHS:,} parts, or groups {MOST_DEPTH} deep")
    except ElementTree.ParseError as slip:
        raise Drawn(f"it is no well-formed SVG ({slip})") from None


def _paths(text: str) -> list[tuple[list[list[Any]], str]]:
    """Every shape of the drawing as closed runs of segments in mm, with its fill rule."""
    from svgelements import SVG, Path, Shape

    found, total = [], 0
    drawn = SVG.parse(io.StringIO(text), reify=True, ppi=25.4)
    for number, element in enumerate(drawn.elements()):
        if number > MOST_PATHS:
            raise Drawn(f"it holds more than {MOST_PATHS} parts")
        if not isinstance(element, Shape):
            continue
        rule = element.values.get("fill-rule", "nonzero")
        runs = [list(run) for run in Path(element).as_subpaths()]
        runs = [run for run in runs if _closes(run)]
        total += sum(len(run) for run in runs)
        if total > MOST_SEGMENTS:
            raise Drawn(f"its paths have more than {MOST_SEGMENTS:,} segments")
        if runs:
            found.append((runs, rule))
    if not found:
        raise Drawn("it holds no closed path")
    return found


def _closes(run: list[Any]) -> bool:
    """Whether a run ends with a close, or comes back to where it began."""
    from svgelements import Close, Move

    drawn = [segment for segment in run if not isinstance(segment, Move)]
    if not drawn:
        return False
    if isinstance(drawn[-1], Close):
        return True
    start, end = drawn[0].start, drawn[-1].end
    return abs(complex(start) - complex(end)) < 1e-6


def _flat(run: list[Any], chord: float) -> np.ndarray:
    """Points (n, 2) of a closed run, its curves followed within ``chord`` mm."""
    from svgelements import Line, Move

    points: list[np.ndarray] = []
    total = 0
    for segment in run:
        if isinstance(segment, Move) or segment.end is None or segment.start is None:
            continue
        if isinstance(segment, Line) or type(segment).__name__ == "Close":
            points.append(np.array([[segment.start.x, segment.start.y]]))
            continue
        probe = np.array([tuple(segment.point(k / 8)) for k in range(9)], dtype=float)
        off = np.abs(probe[1:-1] - (probe[:-2] + probe[2:]) / 2).max()
        count = min(200, max(4, math.ceil(8 * math.sqrt(max(off, 1e-12) / 4 / chord))))
        points.append(np.array([tuple(segment.point(k / count)) for k in range(count)], dtype=float))
        total += count
        if total > MOST_POINTS:
            raise Drawn(f"one path needs more than {MOST_POINTS:,} points")
    loop = np.concatenate(points)
    if not np.isfinite(loop).all():
        raise Drawn("it holds figures that are no numbers")
    return loop


def clean(shapes: list[tuple[list[np.ndarray], str]]) -> list[np.ndarray]:
    """Loops of several shapes as one flat figure: outer loops counter-clockwise, holes
    clockwise, the largest first; self-crossings are resolved by each shape's fill rule."""
    from manifold3d import CrossSection, FillRule, OpType

    rules = {"nonzero": FillRule.NonZero, "evenodd": FillRule.EvenOdd}
    parts = [
        CrossSection(drawn, rules.get(rule, FillRule.NonZero))
        for loops, rule in shapes
        if (drawn := [loop for loop in loops if len(loop) >= 3])
    ]
    if not parts:
        raise Drawn("it encloses nothing")
    whole = CrossSection.batch_boolean(parts, OpType.Add).simplify(1e-6)
    loops = [np.round(np.array(loop, dtype=float), 7) for loop in whole.to_polygons()]
    loops = [loop for loop in loops if abs(signed_area(loop)) > LEAST_AREA]
    if not loops or signed_area(max(loops, key=lambda loop: abs(signed_area(loop)))) <= 0:
        raise Drawn("it encloses nothing")
    loops.sort(key=lambda loop: (-abs(signed_area(loop)), tuple(loop[0])))
    if sum(len(loop) for loop in loops) > MOST_POINTS:
        raise Drawn(f"it needs more than {MOST_POINTS} points")
    return loops
