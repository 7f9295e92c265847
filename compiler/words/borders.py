"""Borders of the pattern books, as lines along a path: plaits, a key, waves, wheat. Lengths mm.

A pattern is drawn in one cell: (along, up), along from 0 to 1 over its repeat, up from -1 to 1 over the
border. Its repeat goes a whole number of times along the path."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ..geometry.line import Line
from ..geometry.smooth import smooth
from ..geometry.tightness import tightest
from ..measures.kinds import unit
from .common import length

STEP = 0.2  # mm between the spots of a line: it lies on a curved face
LEAST = 1e-3  # mm
ROOMY = 1.25  # times half its stroke, the radius to which a curl winds at most
KEPT = 0.6  # of a line, what is drawn of its curl at least
ACROSS = np.array([(1.0, 0.0), (-1.0, 0.0)])
MORE = 1.25  # times as wide, one too narrow for its strands is told to be: house choice, no source
BEND = 24  # chords to one turn of a strand
WIDE = {"wave": 8}  # strokes, of a border whose width is not said, if not USUAL: for its curls; house choice
USUAL = 6
ROOM = 0.45  # of a stroke, left on both sides of a strand that passes over another

Cell = tuple[np.ndarray, bool]  # spots (n, 2) of a line of a cell; whether each cell's goes on into the next


def _run(*spots: tuple[float, float], on: bool = False) -> Cell:
    return np.array(spots), on


def _bent(*spots: tuple[float, float]) -> Cell:
    flat = np.column_stack((np.array(spots), np.zeros(len(spots))))
    return smooth(flat, False, 8)[:, :2], False


# How long a repeat is usually, in widths of the border, and its lines: common practice, no source.
BASE = _run((0, -1), (1, -1), on=True)
_TOP = _run((0, 1), (1, 1), on=True)
_GRAIN = ((0.0, 0.08), (0.4, 0.72), (0.92, 0.98))
CELLS: dict[str, tuple[float, Callable[[], tuple[Cell, ...]]]] = {
    "key": (1.1, lambda: (
        BASE, _run((0.05, -1), (0.05, 1), (0.81, 1), (0.81, -0.36), (0.43, -0.36), (0.43, 0.36)),
    )),
    "wave": (1.3, lambda: (BASE, _bent(
        (0, -1), (0.3, -0.75), (0.44, 0.1), (0.72, 0.96), (1.05, 0.62), (1.07, 0.0), (0.86, -0.3),
        (0.66, -0.02), (0.74, 0.4),
    ))),
    "wheat": (0.5, lambda: (_bent(*_GRAIN), _bent(*((along, -up) for along, up in _GRAIN)))),
    "rope": (0.7, lambda: (BASE, _TOP, _bent((-0.3, -1), (0.15, -0.6), (0.85, 0.6), (1.3, 1)))),
    "zigzag": (0.8, lambda: (_run((0, -1), (0.5, 1), (1, -1), on=True),)),
    "scallop": (0.8, lambda: (_run(
        *((0.5 - 0.5 * math.cos(turn), 2 * math.sin(turn) - 1) for turn in np.linspace(0, math.pi, 25)),
    ),)),
}  # fmt: skip
PLAIT = "plait"
MOST_STRANDS = 6
BORDER: tuple[Take, ...] = (
    Take(
        "border", Kind.CHOICE, "of strokes along a path: a pattern in place of one line, repeated a whole "
        "number of times ('fit' or 'number' says another pitch): a plait (interlace, as of Celtic work), a "
        "Greek key, waves, wheat, rope, zigzag or scallops",
        choices=(PLAIT, *CELLS), goes_with=("stroke",),
    ),
    length("wide", "of a border: its width, strokes and all", goes_with=("border",)),
    Take(
        "strands", Kind.COUNT, "of a plait: how many are plaited", default="2", least=2, most=MOST_STRANDS,
        goes_with=("border",),
    ),
)  # fmt: skip


def _width(call: Call) -> float:
    """How wide the border of a call is, strokes and all, mm."""
    usual = WIDE.get(call.get("border"), USUAL) * call.get("stroke")
    return float(call.get("wide", usual))


def border_lines(call: Call, line: Line) -> list[Line]:
    """The lines of the border of a call along a line, on its face."""
    name, stroke = call.get("border"), call.get("stroke")
    wide = _width(call)
    half = (wide - stroke) / 2
    if half < stroke:
        call.refuse(
            "out-of-range", f"a border {wide:g} mm wide has no room for strokes of {stroke:g} mm", "wide",
            seen=f"{wide:g} mm", limit=f"{3 * stroke:g} mm or more",
            remedy="make it wider, or the strokes finer",
        )  # fmt: skip
    _goes_round(call, line, half)
    strands = call.get("strands")
    usual = 1.4 / (strands - 1) * 2 * half if name == PLAIT else CELLS[name][0] * wide
    total = line.length()
    least = 3 if line.closed else 1
    number = call.get("number", max(least, round(total / call.get("fit", usual))))
    pitch = total / number
    cells = _plait(strands, pitch, half, stroke) if name == PLAIT else CELLS[name][1]()
    drawn = _drawn(cells, number, pitch, half, line.closed)
    made = [_unwound(_laid(call, line, *one), ROOMY * stroke / 2) for one in drawn if len(one[0]) > 1]
    short = next((key for key in ("fit", "number") if call.given(key) and pitch < usual), "")
    cure = f"leave '{short}' out: its repeats are {usual:.3g} mm long then" if short else ""
    for one in made:
        _goes_round(call, one, stroke / 2, cure or f"write wide {math.ceil(MORE * 20 * wide) / 20:g} mm")
    return made


def _goes_round(call: Call, line: Line, half: float, cure: str = "") -> None:
    """Refuse a border whose path, or a line of it, bends tighter than half of what lies on it is wide."""
    bend = tightest(line, half * ACROSS)
    if bend.seen < bend.need:
        call.refuse(
            "bend-too-tight", f"this border bends to a radius of {bend.seen:.2g} mm, too tight for it",
            "border", seen=f"radius {bend.seen:.3g} mm", limit=f"{bend.need:.3g} mm or more",
            remedy=f"{cure or f'write wide {math.floor(40 * bend.seen) / 20:g} mm'}; or make its strokes "
            "finer, or its path's corners rounder",
        )  # fmt: skip


def _unwound(line: Line, half: float) -> Line:
    """A line that ends in a curl, up to where that would wind tighter than ``half`` its stroke is wide."""
    bend, total = tightest(line, half * ACROSS), line.length()
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(line.chords(), axis=1))])
    while not line.closed and bend.seen < bend.need:
        at = float(gone[np.linalg.norm(line.points - bend.at, axis=1).argmin()])
        if at < KEPT * total:
            break
        line = line.part(0.0, (at - LEAST) / line.length())
        bend, gone = tightest(line, half * ACROSS), gone[: len(line.points)]
    return line


def _drawn(
    cells: tuple[Cell, ...], number: int, pitch: float, half: float, closed: bool
) -> Iterator[tuple[np.ndarray, bool]]:
    """Every line of a border, spots (n, 2) mm along and up, and whether it closes; those of an open path end
    where it ends."""
    for spots, goes_on in cells:
        each = spots * (pitch, half)
        if goes_on:
            whole = np.concatenate([each[:-1] + np.array((k * pitch, 0.0)) for k in range(number)])
            yield np.concatenate([whole, each[-1:] + np.array(((number - 1) * pitch, 0.0))]), closed
            continue
        reach = 0 if closed else 3
        for k in range(-reach, number + reach):
            moved = each + np.array((k * pitch, 0.0))
            inside = np.flatnonzero((moved[:, 0] > -LEAST) & (moved[:, 0] < number * pitch + LEAST))
            inside = max(np.split(inside, np.flatnonzero(np.diff(inside) > 1) + 1), key=len)
            if closed or len(inside) > len(moved) / 3:
                yield (moved if closed else moved[inside]), False


def _plait(strands: int, pitch: float, half: float, stroke: float) -> tuple[Cell, ...]:
    """Each stretch of a strand from where it comes out below one to where it goes in below the next: strands
    swing in sines, evenly after one another, and pass over and under by turns."""
    phases = [2 * math.pi * k / strands for k in range(strands)]
    unders = []
    for other in phases[1:]:
        for turn in ((math.pi - other) / 2, (3 * math.pi - other) / 2):
            up = math.sin(turn)
            below = sum(math.sin(turn + phase) < up - 1e-9 for phase in phases[1:] if phase != other)
            if (math.cos(turn) > 0) == bool(below % 2):
                unders.append(turn % (2 * math.pi))
    unders.sort()
    along = strands * pitch / (2 * math.pi)  # mm to a radian
    cells = []
    for first, last in zip(unders, [*unders[1:], unders[0] + 2 * math.pi], strict=True):
        turns = np.linspace(first, last, max(8, round(BEND * (last - first) / math.pi)))
        spots = np.column_stack((turns * along, half * np.sin(turns)))
        steep = 2 * math.atan2(half * abs(math.cos(first)), along)
        off = (0.5 + ROOM) * stroke / max(math.sin(steep), 0.2)
        line = _flat(spots)
        share = off / line.length()
        if share < 0.45:
            cells.append((line.part(share, 1 - share).points[:, :2] / (pitch, half), False))
    return tuple(cells)


def _laid(call: Call, line: Line, spots: np.ndarray, closed: bool) -> Line:
    """Spots drawn flat (n, 2), laid beside a line as its face goes on there."""
    fine = _flat(spots).fine(STEP).points[: -1 if closed else None]
    points, outs, lefts = _along(line, fine[:, 0])
    laid = Line(points + fine[:, 1:2] * lefts, outs, closed, line.face).on_its_face()
    if laid is None:
        call.refuse(
            "off-the-face", "this border is wider than the face it lies on", "wide",
            seen=f"{_width(call):g} mm", remedy="make it narrower",
        )  # fmt: skip
    return laid


def _flat(spots: np.ndarray) -> Line:
    """An open line through spots (n, 2), looking out."""
    outs = np.tile([0.0, 0.0, 1.0], (len(spots), 1))
    return Line(np.column_stack((spots, np.zeros(len(spots)))), outs, False)


def _along(line: Line, at: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The spots of a line ``at`` mm from its start, the ways out there, and the ways to its left, (n, 3)."""
    told = [line.points, line.outs, line.lefts()]
    if line.closed:
        told = [np.concatenate([one, one[:1]]) for one in told]
        at = at % line.length()
    stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(told[0], axis=0), axis=1))])
    found = [np.column_stack([np.interp(at, stations, one[:, k]) for k in range(3)]) for one in told]
    out, left = (unit(one) for one in found[1:])
    return found[0], out, left
