"""Twisted wire: strands wound about a line, or one square wire wound about itself."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.along import LAID, ways
from ..bench.feature import Feature, Lines
from ..bench.feature import length as mm
from ..bench.path import PATH_HELP, path_offers
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed, without
from ..bench.within import OPENING_HELP, openings_in
from ..geometry.line import Line
from ..geometry.outlines import circle, fine_segments
from ..measures.kinds import unit
from ..shapes.wire_face import WireFace
from .common import count, length, metal
from .too_tight import not_too_tight
from .wires import swept

EDGE_STEPS = 90  # rows to a turn of square wire: 4 degrees
TURN_STEPS = 40  # points to a turn of a strand: 9 degrees, far under a corner
CORE_FILL = 1.04  # how far the core of three strands or more reaches past where they touch
MOST_STEPS = 60_000  # points of all strands of one line


def _twist(bench: PieceBench, call: Call) -> Feature:
    course = Lines(tuple(ways(call)))
    lines = Lines(tuple(piece for line in course.lines for piece in line.pieces()))
    wire, strands = call.get("wire"), call.get("strands")
    reach = _middle_radius(wire, strands, call.get("fused"))
    across = 2 * reach + wire
    if call.get("square"):
        strands, across = 1, wire * math.sqrt(2)
    _not_too_many_turns(call, lines)
    for line in course.lines:
        _fits(call, line, wire, across)
    frames = placed(without(call, *LAID))
    feature = bench.new_feature(call, frames)
    cut = any(len(line.corners()) for line in course.lines)
    for line in lines.lines:
        for course_of, section, thick in _wires(call, line, strands, reach):
            shape, = swept(course_of, (section, thick, thick), (), tips=cut and section == "round")
            bench.add(feature, shape, frames, call.get("metal"))
    feature.surface = WireFace(course.lines[0], "round", across, across)
    feature.offers = path_offers(course.lines[0], across / 2)
    feature.offers |= {
        "path": lambda: course,
        "across": lambda: mm(across),
        "wire": lambda: mm(wire),
    } | openings_in(feature, course.lines, across, across)
    return feature


def _wires(call: Call, line: Line, strands: int, reach: float) -> Iterator[tuple[Line, str, float]]:
    """What is twisted along a line: each wire by its course, its section and its thickness."""
    turns = _turns(line, call.get("pitch")) * (-1.0 if call.get("hand") == "left" else 1.0)
    if call.get("square"):
        yield _wound(line, turns), "eased", call.get("wire")
        return
    for k in range(strands):
        yield _strand(line, reach, turns, 360.0 * k / strands), "round", call.get("wire")
    if strands > 2:  # the hollow between three strands or more would hold investment
        yield line, "round", 2 * CORE_FILL * reach * math.cos(math.pi / strands)


def _middle_radius(wire: float, strands: int, fused: float) -> float:
    """From the line to the middle of each strand: touching ones, pressed together by ``fused``."""
    return wire / 2 / math.sin(math.pi / strands) * (1.0 - fused)


def _turns(line: Line, pitch: float) -> float:
    """How often the strands go round: whole turns on a closed line, so that each meets itself."""
    turns = line.length() / pitch
    return float(max(1, round(turns))) if line.closed else turns


def _strand(line: Line, reach: float, turns: float, start: float) -> Line:
    steps = max(8, math.ceil(TURN_STEPS * abs(turns)), len(line.points) // 8)
    share = np.arange(steps + (not line.closed)) / steps
    frames = line.frames_at(share * line.length())
    angle = math.radians(start) + 2 * math.pi * turns * share
    way = np.cos(angle)[:, None] * frames[:, :, 1] + np.sin(angle)[:, None] * frames[:, :, 2]
    points = frames[:, :, 3] + reach * way
    return Line(points, untwisted(points, way[0], line.closed), line.closed)


def _wound(line: Line, turns: float) -> Line:
    """The line itself, looking round about it."""
    steps = max(8, math.ceil(EDGE_STEPS * abs(turns)), len(line.points))
    share = np.arange(steps + (not line.closed)) / steps
    frames = line.frames_at(share * line.length())
    angle = 2 * math.pi * turns * share[:, None]
    outs = np.cos(angle) * frames[:, :, 2] - np.sin(angle) * frames[:, :, 1]
    return Line(frames[:, :, 3], outs, line.closed)


def untwisted(points: np.ndarray, first: np.ndarray, closed: bool) -> np.ndarray:
    """Outward at each point (n, 3), carried on from ``first`` without twist, so that a round section swept
    along keeps its full girth; what is left over round a closed line is spread evenly."""
    chords = np.roll(points, -1, axis=0) - points
    if not closed:
        chords[-1] = chords[-2]
    ahead = unit(chords)
    mean = ahead + np.roll(ahead, 1, axis=0)
    if not closed:
        mean[0] = ahead[0]
    mean = unit(mean)
    outs = np.zeros_like(points)
    outs[0] = _square(first, mean[0])
    for k in range(1, len(points)):
        outs[k] = _square(outs[k - 1], mean[k])
    if not closed:
        return outs
    back = _square(outs[-1], mean[0])
    over = math.atan2(float(np.cross(outs[0], back) @ mean[0]), float(outs[0] @ back))
    angle = -over * np.arange(len(points))[:, None] / len(points)
    return np.asarray(np.cos(angle) * outs + np.sin(angle) * np.cross(mean, outs))


def _square(vector: np.ndarray, unit: np.ndarray) -> np.ndarray:
    rest = vector - (vector @ unit) * unit
    return np.asarray(rest / np.linalg.norm(rest))


def _fits(call: Call, line: Line, wire: float, across: float) -> None:
    pitch = call.get("pitch")
    if pitch < 2.0 * wire:
        call.refuse(
            "twist-too-tight", f"wire {wire:g} mm thick cannot turn round once in {pitch:.3g} mm", "pitch",
            seen=f"{pitch:.3g} mm", limit=f"{2.0 * wire:.3g} mm, twice its thickness",
            remedy="twist less tightly, or take thinner wire",
        )
    if not_too_tight(call, line, circle(across / 2, fine_segments(across / 2))):
        call.refuse(
            "path-meets-itself", "twisted wire cannot run through itself", "along",
            remedy="make it of two twisted wires; they may cross",
        )


def _not_too_many_turns(call: Call, lines: Lines) -> None:
    turns = sum(line.length() for line in lines.lines) / call.get("pitch")
    most = MOST_STEPS / TURN_STEPS / call.get("strands")
    if turns <= most:
        return
    call.refuse(
        "too-many-turns", f"this twist has {turns:.0f} turns", "pitch", seen=f"{turns:.0f} turns",
        limit=f"{most:.0f} turns for so many strands", remedy="twist less tightly",
    )


WORDS = (
    Word(
        "twist",
        "Wires twisted together along a path, as rope, or one square wire about itself. Round a closed path "
        "they meet exactly; at a sharp corner one rope ends, its wires rounded, and the next begins. Three "
        "strands or more get a core, so that no hollow is shut in.", "shapes",
        (
            Take("along", Kind.PATH, "the path they wind about", needed=True),
            length("wire", "thickness of each wire", needed=True),
            count("strands", "how many wires", default="2", least=2, most=12),
            Take(
                "square", Kind.FLAG, "one square wire, its edges eased, twisted about itself",
                not_with=("strands", "fused"),
            ),
            length("pitch", "length of one turn, fitted on a closed path", default="wire * 4"),
            Take("hand", Kind.CHOICE, "which way they wind", default="right", choices=("right", "left")),
            Take(
                "fused", Kind.PERCENT, "how far they are pressed into each other", default="8 %", least=0.02,
                most=0.4,
            ),
            *metal(),
        ),
        example="twist rope: along rim of medal, wire 0.6 mm",
        offers={
            **PATH_HELP, "across": "over all strands", "wire": "thickness of each wire",
            "opening": OPENING_HELP,
        },
        stands=False,
        made_by=_twist,
    ),
)
