"""Lines that need no spots: outlines and spirals drawn flat, a line round finger or wrist."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..geometry.line import Line, ring
from ..geometry.outlines import fine_segments, trace, trace_all
from ..measures.kinds import unit
from .contour import contour
from .finger_clauses import bow, finger
from .spot_lines import angles, moved

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

STEP = math.radians(1.0)  # between spots of a line that winds
MOST_TURNS = 40
LEAST_TURN = 0.05  # of a spiral


def flat(bench: PieceBench, call: Call) -> tuple[Line, ...]:
    """The rims of an outline, as a plate has them, looking to the onlooker."""
    outline = contour(bench, call)
    whole = len(trace_all(outline)) == 1
    return tuple(moved(call, ring(loop, 0.0), whole) for loop in trace_all(outline))


def spiral(call: Call) -> Line:
    """The spiral of `spiral`, its turns evenly apart, looking to the onlooker."""
    ends, turns = call.get("spiral"), call.get("turns")
    if len(ends) != 2 or ends[0] == ends[1]:
        call.refuse(
            "size-members", "a spiral goes from one diameter to another", "spiral",
            remedy="as in: spiral 12 mm to 2 mm",
        )
    if abs(turns) < LEAST_TURN:
        call.refuse(
            "out-of-range", "there is no such spiral", "turns", seen=f"{turns:g}",
            limit=f"{LEAST_TURN:g} to {MOST_TURNS}", remedy="say how often it goes round",
        )
    around = 360.0 * abs(turns)
    count = max(8, math.ceil(math.radians(around) / STEP), fine_segments(max(ends) / 2, around))
    angle = np.linspace(0.0, 2 * math.pi * turns, count + 1)
    radius = np.linspace(ends[0] / 2, ends[1] / 2, count + 1)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), np.zeros(count + 1)], axis=1)
    return Line(points, np.tile((0.0, 0.0, 1.0), (count + 1, 1)), False)


def about_finger(call: Call) -> Line:
    """The line round finger or wrist, its head at +z, looking away from it."""
    size = inside_of(call)
    if call.given("arc") or call.given("advance"):
        return _winding(call, size)
    x, z = size
    flat_line = moved(call, ring(trace(("circle", x) if x == z else ("ellipse", x, z)), 0.0))
    right, up = flat_line.points[:, 0], flat_line.points[:, 1]
    angle = np.round(np.arctan2(right, up), 9)  # the head is 0, never a hair short of once round
    order = np.argsort(angle % (2 * math.pi), kind="stable")
    rise = call.get("vee") or call.get("wave") or 0.0
    from ..shapes.shank import risen

    level = bow(call, z / 2)
    along = [risen(one, rise, call.given("vee"), level) for one in angle.tolist()]
    line = _looking_out(np.stack([right, np.array(along), up], axis=1)[order], True)
    gap = call.get("open")
    return line if gap is None else _opened(call, line, gap)


def inside_of(call: Call) -> tuple[float, float]:
    """The inside across and from back to head, mm."""
    if call.given("finger"):
        across = finger(call)
        return across, across
    size = call.get("inside")
    return size[0], size[-1]


def _looking_out(points: np.ndarray, closed: bool) -> Line:
    """The line through ``points`` looking square to its course, away from finger or wrist."""
    line = Line(points, np.tile((0.0, 1.0, 0.0), (len(points), 1)), closed)
    outs = np.cross(line.ways(), (0.0, -1.0, 0.0))
    outs *= np.sign((outs * points * (1.0, 0.0, 1.0)).sum(axis=1))[:, None]
    return Line(points, unit(outs), closed)


def _opened(call: Call, line: Line, gap: float) -> Line:
    """The line without what lies within half the opening of the middle of its back."""
    across = float(np.ptp(line.points[:, 0]))
    if gap >= 0.95 * across:
        call.refuse(
            "band-too-open", f"a path {across:.3g} mm across cannot stand {gap:g} mm open", "open",
            seen=f"{gap:g} mm", limit=f"{0.95 * across:.3g} mm", remedy="make the opening smaller",
        )
    x, z = line.points[:, 0], line.points[:, 2]
    chords = np.linalg.norm(line.chords(), axis=1)
    stations = np.r_[0.0, np.cumsum(chords)]
    right = np.flatnonzero((z < 0) & (x >= gap / 2))  # going round from the head by the right
    last = int(right[-1])
    share = (x[last] - gap / 2) / max(x[last] - x[last + 1], 1e-12)
    end = float(stations[last] + share * chords[last]) / float(stations[-1])
    return line.part(-end, end)


def _winding(call: Call, size: tuple[float, float]) -> Line:
    """A stretch of the way round, or more than once round, moving on along the finger."""
    first, last = _arc(call)
    outset = call.get("outset", 0.0) - call.get("inset", 0.0)
    count = max(8, math.ceil((last - first) / STEP), fine_segments(max(size) / 2, math.degrees(last - first)))
    share = np.linspace(-1.0, 1.0, count + 1)
    angle = first + (last - first) * (share + 1) / 2
    a, b = size[0] / 2, size[1] / 2
    out = np.stack([b * np.sin(angle), np.zeros(len(angle)), a * np.cos(angle)], axis=1)
    out = unit(out)
    points = np.stack([a * np.sin(angle), np.zeros(len(angle)), b * np.cos(angle)], axis=1)
    points += outset * out
    ease = share**3 if call.get("late") else share
    points[:, 1] = call.get("advance", 0.0) / 2 * ease
    return Line(points, out, False)


def _arc(call: Call) -> tuple[float, float]:
    """Where a winding line begins and ends, radians from the head to the right."""
    value = call.get("arc")
    if value is None:
        return -math.pi, math.pi
    found = angles(call, "arc", "-30 deg to 390 deg")
    if len(found) != 2:
        call.refuse(
            "wrong-kind", "arc runs from one angle to another", "arc", remedy="as in: arc -30 deg to 390 deg"
        )
    first, last = found
    if not 1.0 <= last - first <= 360.0 * MOST_TURNS:
        call.refuse(
            "out-of-range", "there is no such arc", "arc", seen=f"{first:g} deg to {last:g} deg",
            limit=f"1 deg to {MOST_TURNS} times round", remedy="give the smaller angle first",
        )
    return math.radians(first), math.radians(last)
