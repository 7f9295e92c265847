"""StoneKind out rows of stones by the gap between them: on a line, round a circle, along any line."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NoReturn

import numpy as np

from ...lang.bench import Call, Refused
from ...stdlib import cuts
from ..bench.along import goes_back, ways
from ..bench.patterns import COPIES_LIMIT, anchored, too_many
from ..bench.placement import offset, placed
from ..bench.stone_kind import StoneKind
from ..geometry import frames as fr
from ..geometry.inside import gaps
from ..geometry.line import Line
from ..geometry.outlines import trace
from ..geometry.parted import parted_row
from ..geometry.spacing import ROW_LIMIT, closed_row, headed_row, open_row, ring, shares, straight

TRIES, MANY = 10, 80  # how often, and up to how many stones, a row on a bend is laid again
FINE, ROUGH = 1e-3, 0.02  # mm, how exact its gap is then, and the chords of a girdle
CLAW_ROOM = 0.06  # mm between a claw and a stone that it passes

Laid = tuple[np.ndarray, tuple[tuple[int, int, bool], ...]]
KindAt = Callable[[float, int], "StoneKind"]
Heights = Callable[[np.ndarray, Sequence["StoneKind"]], np.ndarray]


@dataclass(frozen=True)
class Row:
    """A line of stones that lays a row: which stone stands at a share of it and a number in it, and how far
    over their places (n, 3, 4) the girdles of some come to stand, mm (n,)."""

    call: Call
    kind_at: KindAt
    heights: Heights
    deep: Callable[[np.ndarray], np.ndarray] | None = None  # how far spots of its line were lowered for that

    def kinds(self, count: int, closed: bool) -> list[StoneKind]:
        """The stones of a row of so many."""
        return [self.kind_at(share, place) for place, share in enumerate(shares(count, closed))]


def laid(call: Call, kind_at: KindAt, heights: Heights) -> Laid:
    """Frames of the stones and their rows, with the gap of the line between neighbours."""
    row = Row(call, kind_at, heights)
    if call.given("along"):
        return _along(row)
    swivel = call.get("swivel", 0.0)
    if call.given("row"):
        return _pattern(row, "row", -swivel)
    return _pattern(row, "circle", 90.0 - swivel)


def _pattern(row: Row, key: str, way: float) -> Laid:
    call = row.call
    count, gap = call.get(key), call.get("gap")
    if count > ROW_LIMIT:
        too_many(call, count)
    closed = key == "circle"
    widths = [kind.extent(way) for kind in row.kinds(count, closed)]
    if closed:
        radius, angles = ring(widths, gap)
        turns = [fr.turned(2, call.get("start", 0.0) + angle) for angle in angles]
        inner = fr.compose(np.concatenate(turns), fr.shifted(right=radius))
    else:
        inner = fr.identity(count)
        inner = _in_line(row, np.diff(straight(widths, gap)))
    frames = placed(call, inner=inner)
    ranges = range(0, len(frames), count)
    return frames, tuple((first, first + count, closed and count > 2) for first in ranges)


def _in_line(row: Row, chords: np.ndarray) -> np.ndarray:
    """Frames of a row whose neighbours lie ``chords`` (n - 1,) apart; on a face that bends, farther
    or nearer along it, so that the girdles do."""
    call, inner = row.call, fr.identity(len(chords) + 1)
    kinds = row.kinds(len(inner), False)
    steps, high = chords.copy(), None
    for _ in range(6 if call.given("on") else 1):
        at = np.r_[0.0, np.cumsum(steps)]
        inner[:, 0, 3] = at - at[-1] / 2
        inner = anchored(call, inner)
        if call.given("on"):
            frames = placed(call, inner=inner)[: len(inner)]
            high = row.heights(frames, kinds) if high is None else high
            girdles = frames[:, :, 3] + high[:, None] * frames[:, :, 2]
            apart = np.linalg.norm(np.diff(girdles, axis=0), axis=1)
            steps = steps * chords / np.maximum(apart, 1e-9)
    return inner


def _along(row: Row) -> Laid:
    call = row.call
    found: list[np.ndarray] = []
    chains: list[tuple[int, int, bool]] = []
    total = 0
    both = bool(call.get("both-sides") and goes_back(call))
    there = [(line, False) for line in ways(call)]
    for moved, back in there + [(line, True) for line in ways(call, True) if both]:
        line = _raised(row, moved)
        if back:
            line = replace(line, points=line.points[::-1], outs=line.outs[::-1])
        frames, closes = _one(row, line)
        if back:  # the mirror image, its first stone the like of the first
            own = _own(row)
            frames = fr.compose(frames, fr.compose(fr.inverse(own[0])[None], fr.compose(fr.flipped(1), own)))
        found.append(frames)
        chains.append((total, total + len(frames), closes and len(frames) > 2))
        total += len(frames)
    if total > COPIES_LIMIT:
        too_many(call, total)
    return fr.rounded(np.concatenate(found)), tuple(chains)


def _raised(row: Row, line: Line) -> Line:
    """The line moved along its outs as `out`, `inward` and `level` say: gaps are true where girdles are."""
    by = row.call.get("out", 0.0) - row.call.get("inward", 0.0) + _level(row)
    return Line(line.points + by * line.outs, line.outs, line.closed)


def _level(row: Row) -> float:
    """How far `level` raises the middle stone's girdle over its place, mm; its table sunk no deeper than
    flush."""
    return _level_of(row, row.kind_at(0.5, 0))


def _level_of(row: Row, kind: StoneKind) -> float:
    return {"table": -kind.crown(), "back": kind.pavilion()}.get(row.call.get("level"), 0.0)


def _one(row: Row, line: Line) -> tuple[np.ndarray, bool]:
    """Frames of the stones along one line, and whether their row closes on itself; laid once more where their
    girdles come to stand deeper than flush."""
    found = _apart(row, line)
    if row.call.get("gap") is None:
        return found
    level, kinds = _level(row), row.kinds(len(found[0]), found[1])
    sunk = np.array([_level_of(row, kind) for kind in kinds]) - row.heights(found[0], kinds)
    if np.abs(sunk).max() < FINE:
        return found
    deep = partial(_by_nearest, found[0][:, :, 3] + level * found[0][:, :, 2], sunk)
    lower = line.points - deep(line.points)[:, None] * line.outs
    return _apart(replace(row, deep=deep), Line(lower, line.outs, line.closed))


def _by_nearest(at: np.ndarray, figures: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """The figures (n,) of some places (n, 3) at other spots (m, 3), by far most those of the nearest."""
    off = np.linalg.norm(spots[:, None] - at[None], axis=2) + FINE
    weights = off**-4.0
    return np.asarray((weights * figures).sum(axis=1) / weights.sum(axis=1))


def _apart(row: Row, line: Line) -> tuple[np.ndarray, bool]:
    """Frames of the stones along one line, and whether their row closes on itself; where its bends bring
    corners of theirs nearer than the gap, as much farther apart."""
    gap = row.call.get("gap")
    found = _row(row, line, gap)
    if gap is None or len(found[0]) > MANY or (lack := gap - _nearest(row, *found)) < FINE:
        return found
    low, high, best, least = gap, math.inf, None, gap + lack
    for _ in range(TRIES):
        asked = low + lack if high == math.inf else (low + high) / 2
        try:
            found = _row(row, line, asked)
        except Refused:  # there is no room for as much
            high = asked
            continue
        lack = gap - _nearest(row, *found)
        if abs(lack) < FINE:
            return found
        if lack < 0:
            best, high = found, asked
        else:
            low = asked
    return best or _row(row, line, least)


def _nearest(row: Row, frames: np.ndarray, closes: bool) -> float:
    """The least room between the girdles of neighbours, mm; inf of round ones, whose gap is true as laid."""
    count = len(frames)
    kinds = row.kinds(count, closes)
    wide = [abs(kind.extent(way) - kind.width) for kind in kinds for way in (0.0, 30.0, 45.0)]
    if count < 2 or max(wide) < ROUGH:
        return math.inf
    rims = []
    high = np.full(count, _level(row))
    if row.deep is not None:
        high -= row.deep(frames[:, :, 3] + high[:, None] * frames[:, :, 2])
    for frame, kind, level in zip(frames, kinds, high, strict=True):
        flat = trace(kind.outline, ROUGH)
        rims.append(fr.apply(frame, np.column_stack([flat, np.full(len(flat), level)])))
    pairs = zip(rims, rims[1:] + rims[:1] * (closes and count > 2), strict=False)
    return min(min(_off(one, two), _off(two, one)) for one, two in pairs)


def _off(points: np.ndarray, rim: np.ndarray) -> float:
    """How near points (n, 3) come to a closed rim (m, 3), mm."""
    return float(gaps(points, rim, np.roll(rim, -1, axis=0) - rim).min())


def _row(row: Row, line: Line, gap: float | None) -> tuple[np.ndarray, bool]:
    """Frames of the stones along one line by their widths and the gap, and whether the row closes."""
    call, closes = row.call, line.closed
    count, swivel = call.get("number"), call.get("swivel", 0.0)
    if count is not None and count > ROW_LIMIT:
        too_many(call, count)

    def width(share: float, place: int = 0) -> float:
        return row.kind_at(share, place).extent(-swivel)

    if call.given("prongs-at") and call.get("prong", 0.0) > 0:
        _room_for_claws(call, line)
        claws, wide = call.get("prongs-at").frames, width(0.0)
        clear = (wide + call.get("prong")) / 2 + CLAW_ROOM
        laid = parted_row(line, wide, gap or 0.0, claws, clear)
    elif line.closed and gap is not None and count is not None and count > 1:
        laid, closes = headed_row(line, width, gap, count)
        if not closes:
            line = line.part(-0.5, 0.5)
    elif line.closed:
        laid = closed_row(line, width, gap, count)
    else:  # a row graded up to its middle has its largest stone there
        laid = open_row(line, width, gap, count, width(0.5) > max(width(0.0), width(1.0)) + 1e-6)
    if laid is None or laid.gap < (gap or 0.0) - 1e-9:
        _no_room(call, line, gap, width)
    places = _looking_on(line, laid.distances)
    if row.deep is not None:
        places[:, :, 3] += row.deep(places[:, :, 3])[:, None] * places[:, :, 2]
    return fr.compose(places, _own(row)), closes


def _looking_on(line: Line, distances: np.ndarray) -> np.ndarray:
    """Frames along a line; what stands on a corner looks on half way between both its sides."""
    frames = line.frames_at(distances)
    corners = line.corners()
    apart = np.linalg.norm(frames[:, None, :, 3] - line.points[None, corners], axis=2)
    for k, at in zip(*np.nonzero(apart < 1e-5), strict=True):
        spot = corners[at]
        frames[k] = fr.from_axes(line.points[spot][None], line.ways()[spot][None], line.outs[spot][None])[0]
    return frames


def _room_for_claws(call: Call, line: Line) -> None:
    """Raises Refused where a row cannot make room for claws."""
    if not line.closed or not call.given("gap") or call.given("number"):
        call.refuse(
            "clauses-disagree",
            "room for claws is left in a row that closes on itself, as many stones as keep a gap",
            "prongs-at", remedy="give 'gap' without 'number', along a closed path",
        )


def _own(row: Row) -> np.ndarray:
    """What is left of the offsets and turns once the line itself was raised; a stone is levelled later."""
    return offset(row.call, -_level(row), {"turn": 2, "tilt": 0, "lean": 1, "swivel": 2})


def _no_room(call: Call, line: Line, gap: float | None, width: Callable[[float, int], float]) -> NoReturn:
    count = call.get("number")

    def need(number: int) -> float:
        widths = [width(share, place) for place, share in enumerate(shares(number, line.closed))]
        # Without a gap the outer two stand with their middles on the ends of an open path.
        over = (widths[0] + widths[-1]) / 2 if gap is None and not line.closed else 0.0
        return sum(widths) + (gap or 0.0) * (number - (not line.closed)) - over

    fewer = next((n for n in range((count or 1) - 1, 0, -1) if need(n) < line.length()), 0)
    what = "not one stone" if count is None else f"no row of {count}"
    cures = [f"write {fewer}"] if fewer else []
    cures += _fitting(call, line.length(), need(count or 1), gap, count or 1, line.closed)
    call.refuse(
        "row-too-long", f"{what} fits that path with {gap or 0.0:g} mm between stones",
        "number" if count is not None else "along", seen=f"a path of {line.length():.2f} mm",
        limit=f"a path of {math.ceil(need(count or 1) * 100 - 1e-6) / 100:.2f} mm, more where it bends",
        remedy="; or ".join([*cures, "draw a longer path" if cures else LESS]),
    )


LESS = "take smaller stones, less gap, or a longer path"
LEAST_GAP = 0.1  # mm between stones, less is not told: they chip
BENT = 0.98  # of a path, what a row measured straight from stone to stone takes of it where it bends


def _fitting(
    call: Call, long: float, need: float, gap: float | None, count: int, closed: bool
) -> Iterator[str]:
    """What else fits a row of the text's own line into a path that is too short: its gap, or its stones where
    one figure says how large they are, so much smaller."""
    if call.within:
        return
    gaps = count - (not closed)
    name = call.own_line.name
    if gap and gaps and (less := gap - (need - BENT * long) / gaps) >= LEAST_GAP:
        yield f"write gap {math.floor(100 * less) / 100:.2f} mm in the line of {name}"
    all_gaps = (gap or 0.0) * gaps
    share = (BENT * long - all_gaps) / max(need - all_gaps, SMALLEST)
    for key, one in call.arguments.items():
        across = one.value[0] if isinstance(one.value, tuple) and len(one.value) == 1 else 0.0
        if cuts.find(key) is not None and isinstance(across, float) and share * across > SMALLEST:
            yield f"write {key} {math.floor(10 * share * across) / 10:.1f} mm in the line of {name}"


SMALLEST = 0.8  # mm, stones that are set: common practice, no source
