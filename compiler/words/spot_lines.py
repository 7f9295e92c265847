"""Lines from spot to spot, or told as the bench bends them: by runs and bends."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ...lang.bench import Call
from ...lang.values import ANGLE, Quantity, Sequence
from ...lang.words import Kind, Take
from ..bench.along import no_inset
from ..geometry.line import Line
from ..geometry.outlines import arc_points, fine_segments
from ..geometry.smooth import smooth
from .common import LARGEST

LONGEST = 10_000.0  # mm to a spot of a line, and of one laid upon a face
LEAST_STEP = 1e-4  # mm; spots nearer than this are one spot


def through(call: Call, closed: bool) -> np.ndarray:
    """The points (n, 3) of `through`, straight, in arcs or `smooth`."""
    spots = call.get("through")
    if closed and len(spots) > 3 and spots[-1][3] == "to" and spots[-1][:3] == spots[0][:3]:
        spots = spots[:-1]  # it goes back there by itself
    points = np.array([spot[:3] for spot in spots], dtype=float)
    _leads_somewhere(call, points, spots, closed)
    if not call.get("smooth"):
        return drawn(spots)
    out, in_ = (None if (way := call.get(key)) is None else way_of(way) for key in ("leaves", "arrives"))
    return smooth(points, closed, ways=(out, in_))


def _leads_somewhere(call: Call, points: np.ndarray, spots: Any, closed: bool) -> None:
    """Raises Refused for spots that make no line: too few, too far, two in one, an arc without an end."""
    if len(points) < 2 or (closed and len(points) < 3):
        call.refuse(
            "path-too-short", f"a path through {len(points)} spot{'s' * (len(points) != 1)} leads nowhere",
            "through", seen=str(len(points)), limit="3 spots for a closed path, 2 for an open one",
            remedy="add spots with 'to (5, 0 mm)'",
        )
    if spots[-1][3] == "over" and not closed and not call.get("smooth"):
        *_, before, last, top = (f"({x:g}, {y:g} mm)" for x, y, *_ in (spots[0], *spots))
        call.refuse(
            "arc-without-end", f"the arc over {top} has no spot to end at", "through",
            remedy=f"the spot it passes stands before its end: ... {before} over {top} to {last}; "
            "or say 'closed', and it ends at the first spot"
            if len(spots) > 2
            else "add its end, as in: to (5, 0 mm)",
        )
    farthest = float(np.abs(points).max())
    if not farthest <= LONGEST:
        call.refuse(
            "out-of-range", f"{call.name} leads farther than any piece reaches", "through",
            seen=f"{farthest:.4g} mm", limit=f"at most {LONGEST:,.0f} mm",
            remedy="check its spots and their units",
        )
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if (steps < LEAST_STEP).any() or (closed and np.linalg.norm(points[0] - points[-1]) < LEAST_STEP):
        call.refuse(
            "spots-coincide", "two spots in a row are the same", "through",
            remedy="leave one out (a closed path goes back to its first spot by itself)",
        )


def drawn(spots: Any) -> np.ndarray:
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


def run_takes() -> tuple[Take, ...]:
    """The clauses of a path told as the bench bends it."""
    with_runs, with_bends = ("runs",), ("bends",)
    return (
        Take(
            "runs", Kind.LENGTHS,
            "its straight runs, the first to the right, a bend between every two: 50 mm to 45 mm",
            least=0.0, most=LARGEST,
        ),
        Take(
            "bends", Kind.ANY, "how far it is bent after each run, to the left; less than zero: to the right",
            goes_with=with_runs,
        ),
        Take(
            "mandrel", Kind.LENGTHS, "diameter of what it is bent round, one for all bends or one for each",
            least=0.0, most=LARGEST, goes_with=with_bends,
        ),
        Take(
            "thick", Kind.LENGTH, "of what is bent: its middle runs half of this from the mandrel", least=0.0,
            most=LARGEST, goes_with=("mandrel",),
        ),
    )


def bent(call: Call) -> np.ndarray:
    """The points (n, 3) of `runs` and `bends`."""
    runs = call.get("runs")
    bends = angles(call, "bends", "90 deg to -45 deg") if call.given("bends") else []
    around = call.get("mandrel", (0.0,))
    bends = bends * (len(runs) - 1) if len(bends) == 1 else bends
    around = around * len(bends) if len(around) == 1 else around
    for key, seen, wanted in (("bends", bends, len(runs) - 1), ("mandrel", around, len(bends))):
        if len(seen) != wanted:
            call.refuse(
                "size-members", f"{len(runs)} runs have {len(runs) - 1} bends between them",
                key if call.given(key) else "runs", seen=str(len(seen)), limit=str(wanted),
                remedy="as in: runs 50 mm to 45 mm, bends 180 deg, mandrel 3 mm",
            )
    points, at, way = [np.zeros(3)], np.zeros(3), 0.0
    for run, turn, across in zip(runs, (*bends, 0.0), (*around, 0.0), strict=True):
        if run > 0.0:
            at = at + run * way_of(way)
            points.append(at)
        radius = (across + call.get("thick", 0.0)) / 2
        if turn and across > 0.0:
            side = math.copysign(90.0, turn)
            count = fine_segments(radius, turn)
            middle = at + radius * way_of(way + side)
            points += [middle + radius * way_of(way + turn * k / count - side) for k in range(1, count + 1)]
            at = points[-1]
        way += turn
    if len(points) < 2:
        call.refuse("path-too-short", "these runs lead nowhere", "runs", remedy="say how long they are")
    return np.array(points)


def way_of(angle: float) -> np.ndarray:
    """The unit way (3,) at an angle, degrees, from the right."""
    return np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle)), 0.0])


def moved(call: Call, line: Line, whole: bool = True) -> Line:
    """The line moved as `inset` and `outset` say; one of several may vanish."""
    by = call.get("inset", 0.0) - call.get("outset", 0.0)
    if not by:
        return line
    found = line.moved_sharp(by)
    wider = line.closed and whole and 2 * by >= np.ptp(line.points, axis=0)[:2].min()
    if found is None or len(found.points) < (3 if line.closed else 2) or wider:
        no_inset(call, by)
    return found


def angles(call: Call, key: str, like: str) -> list[float]:
    """The angles of a clause, joined by 'to', or one alone, degrees."""
    value = call.get(key)
    members = value.members if isinstance(value, Sequence) else (value,)
    found = [m.value for m in members if isinstance(m, Quantity) and (m.dimension == ANGLE or not m.value)]
    if len(found) != len(members):
        call.refuse(
            "wrong-kind", f"{key} is an angle, or several joined by 'to'", key, remedy=f"as in: {key} {like}"
        )
    return found
