"""Stones and their neighbours: the gaps of a row, with or without those beyond its ends, the line through it.

Each function takes a feature of stones and gives places or a line, or a text saying why not."""

from __future__ import annotations

import itertools

import numpy as np

from ...lang.bench import Missing
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.outlines import trace
from ..geometry.smooth import smooth
from ..measures.kinds import unit
from .feature import Feature, Lines, Places

ALONE = Missing(
    why="a single stone makes no row and has no gap to share",
    remedy="leave 'shared' out where it is said; or lay the stones as one row, in one line with 'row' and "
    "'gap'",
)
FIELD = Missing(
    why="stones in a field have no gaps to share",
    remedy="lay them in one row, in place of 'upon': with 'on' its metal, 'row' and 'gap', as in row 7, gap "
    "0.1 mm; or set a field with bead-set, or ask for its nooks",
)


def gaps(feature: Feature) -> Places | Missing | str:
    """The places between neighbours in a row; what each has is told at ``claw_gaps``."""
    return _in_gaps(feature, 1)


def claw_gaps(feature: Feature) -> Places | Missing | str:
    """The places between neighbours in a row, and one beyond each end, as claws shared by neighbours stand.

    Each frame stands half way between two girdles, x from one stone to the next. Figures:
    ``apart`` centre to centre, ``before`` and ``after`` the two stones' widths along the row,
    ``bow-before`` and ``bow-after`` how much farther than half of it the middle lies of the circle that
    either girdle follows where claws stand, ``flat`` how far to the side of the row (see ``_front``),
    ``wide`` their mean width across it, ``crown`` how far up a prong must reach there to stand level with
    the higher table, mm; ``lean`` how far a prong there leans against the stones, ``lean-before`` and
    ``lean-after`` how far the place is leaned to look as either stone does, ``veer`` how far the row turns to
    the left at the stone after it, degrees.
    Beyond an end stone the same gap is continued, so that end stones are held like the others."""
    return _in_gaps(feature, 0)


def _in_gaps(feature: Feature, left_out: int) -> Places | Missing | str:
    """Places in the gaps, ``left_out`` of them at each end of an open row."""
    if not feature.chains:
        return FIELD
    found = []
    for first, last, closed in feature.chains:
        if last - first < 2:
            return ALONE
        kept = slice(None) if closed or not left_out else slice(left_out, -left_out)
        found.append([part[kept] for part in _chain_gaps(feature, first, last, closed)])
    names = (
        "apart", "before", "after", "bow-before", "bow-after", "flat", "wide", "crown", "lean", "lean-before",
        "lean-after", "veer",
    )  # fmt: skip
    frames, *figures = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Places(frames, dict(zip(names, figures, strict=True)))


def _chain_gaps(feature: Feature, first: int, last: int, closed: bool) -> tuple[np.ndarray, ...]:
    frames = feature.frames[first:last]
    centres, outs = frames[:, :, 3], frames[:, :, 2]
    here = list(range(first, last))
    if closed:
        pairs = list(zip(here, [*here[1:], here[0]], strict=True))
    else:
        pairs = [(here[0], here[0]), *itertools.pairwise(here), (here[-1], here[-1])]
    if closed:
        start, stop = centres, np.roll(centres, -1, axis=0)
        out = outs + np.roll(outs, -1, axis=0)
    else:
        ends = 2 * centres[:1] - centres[1:2], 2 * centres[-1:] - centres[-2:-1]
        start, stop = np.concatenate([ends[0], centres]), np.concatenate([centres, ends[1]])
        out = np.concatenate([outs[:1], outs]) + np.concatenate([outs, outs[-1:]])
    way = stop - start
    apart = np.linalg.norm(way, axis=1)
    before = np.array([_reach(feature, pair[0], way[k]) for k, pair in enumerate(pairs)])
    after = np.array([_reach(feature, pair[1], way[k]) for k, pair in enumerate(pairs)])
    if not closed:  # beyond the ends, the end stone stands on both sides of its own gap
        for k, near in ((0, 1), (-1, -2)):
            gap = apart[near] - (before[near] + after[near]) / 2
            middle = centres[0] if k == 0 else centres[-1]
            unit = way[k] / apart[k]
            apart[k] = before[k] + gap
            start[k] = middle - unit * apart[k] if k == 0 else middle
            way[k] = unit * apart[k]
    share = ((before / 2) + (apart - (before + after) / 2) / 2) / apart
    places = fr.from_axes(start + share[:, None] * way, way, out)
    tall = [
        max(_table(feature, index, place) for index in set(pair))
        for place, pair in zip(places, pairs, strict=True)
    ]
    room = apart - (before + after) / 2
    fronts = np.array([
        [_front(feature, pair[which], sign * way[k], room[k] / 2) for which, sign in ((0, 1.0), (1, -1.0))]
        for k, pair in enumerate(pairs)
    ])
    wide = [
        sum(_reach(feature, index, place[:, 1]) for index in pair) / 2
        for pair, place in zip(pairs, places, strict=True)
    ]
    upright = np.array([feature.frames[index][:, 2] for pair in pairs for index in pair]).reshape(-1, 2, 3)
    lean = np.arccos(np.clip(np.einsum("npi,ni->np", upright, places[:, :, 2]).min(axis=1), -1.0, 1.0))
    tips = np.degrees(np.arctan2(*(np.einsum("npi,ni->pn", upright, places[:, :, axis]) for axis in (0, 2))))
    return (
        places, apart, before, after, *fronts[:, :, 0].T, fronts[:, :, 1].min(axis=1),
        np.array(wide), np.array(tall), np.degrees(lean), *tips, _turns(places, closed),
    )  # fmt: skip


def _turns(places: np.ndarray, closed: bool) -> np.ndarray:
    """How far the way turns to the left from each gap to the next, degrees."""
    here, after = places, np.roll(places, -1, axis=0)
    way = np.einsum("nij,ni->nj", here[:, :, :3], after[:, :, 0])
    turns = np.degrees(np.arctan2(way[:, 1], way[:, 0]))
    if not closed:
        turns[-1] = 0.0
    return np.asarray(turns)


def _table(feature: Feature, index: int, place: np.ndarray) -> float:
    """How far out of a place the plane of a stone's table is met, mm."""
    frame = feature.frames[index]
    out, rise = frame[:, 2], place[:, 3] - frame[:, 3]
    return float((feature.kind(index).crown() - rise @ out) / max(place[:, 2] @ out, 0.1))


def _reach(feature: Feature, index: int, way: np.ndarray) -> float:
    """How far a stone's girdle reaches along a direction, mm."""
    local = feature.frames[index][:, :3].T @ way
    return float(feature.kind(index).extent(np.degrees(np.arctan2(local[1], local[0]))))


def _front(feature: Feature, index: int, way: np.ndarray, room: float) -> tuple[float, float]:
    """The circle that a girdle follows where a claw shared with the next stone stands, ``room`` mm from it
    half way: how much farther than half the stone's width its middle lies back, and how far to the side.

    It touches the line across the stone's foremost spot, and the girdle at the claw. A round stone is that
    circle itself; of a straight side it is the corner."""
    kind = feature.kind(index)
    if kind.is_round():
        return 0.0, 0.0
    local = feature.frames[index][:, :3].T @ (way / np.linalg.norm(way))
    girdle = _dense(trace(kind.outline)) @ np.array([[local[0], -local[1]], [local[1], local[0]]])
    tip = float(girdle[:, 0].max())
    off = max(0.175, 0.105 + 0.0275 * tip, 1.2 * room)  # to the middle of a claw of usual wire
    ahead = (tip + room - girdle[:, 0]) / off
    front = ahead <= 1.0
    rise = np.sqrt(np.maximum(1.0 - ahead[front] ** 2, 0.0))  # stones that overlap have no room at all
    at = int(np.argmax(girdle[front, 1] + off * rise))
    radius = (tip - girdle[front, 0][at]) / max(1.0 - ahead[front][at], 1e-9)
    side = float(girdle[front, 1][at])
    radius = min(radius, max(side, 0.0) / max(float(rise[at]), 0.05) + tip)  # the sides of a taper run askew
    return radius - tip, side - radius * float(rise[at])


def _dense(outline: np.ndarray) -> np.ndarray:
    """Spots along an outline, so close that its straight sides have them too."""
    after = np.roll(outline, -1, axis=0)
    share = np.linspace(0.0, 1.0, max(2, 4096 // len(outline)), endpoint=False)[:, None, None]
    return ((1.0 - share) * outline + share * after).reshape(-1, 2)


def sides(feature: Feature) -> Lines | Missing | str:
    """The two lines along each row at the widest of its girdles, looking out as the stones do, their inner
    side toward the row; they end at the gaps beyond its end stones."""
    lines = []
    for first, last, closed in feature.chains:
        if last - first < 2:
            return ALONE
        middle = _chain_gaps(feature, first, last, closed)[0]
        frames = feature.frames[first:last]
        ways = np.roll(frames[:, :, 3], -1, axis=0) - np.roll(frames[:, :, 3], 1, axis=0)
        if not closed:
            ways[[0, -1]] = frames[1, :, 3] - frames[0, :, 3], frames[-1, :, 3] - frames[-2, :, 3]
        left = np.cross(frames[:, :, 2], ways)
        left = unit(left)
        half = np.array([_reach(feature, first + k, way) / 2 for k, way in enumerate(left)])[:, None]
        for side in (-1.0, 1.0):
            points, outs = frames[:, :, 3] + side * half * left, frames[:, :, 2]
            if not closed:
                ends = middle[[0, -1], :, 3] + side * (half * left)[[0, -1]]
                points = np.concatenate([ends[:1], points, ends[1:]])
                outs = np.concatenate([outs[:1], outs, outs[-1:]])
            step = -1 if side > 0 else 1
            lines.append(_flowing(points[::step], outs[::step], closed))
    return Lines(tuple(lines)) if lines else "stones in a field make no row"


def path(feature: Feature) -> Lines | Missing | str:
    """The line through the middles of each row, looking out as the stones do; it reaches past
    the end stones by half a stone."""
    lines = []
    for first, last, closed in feature.chains:
        frames = feature.frames[first:last]
        if len(frames) < 2:
            return ALONE
        points, outs = frames[:, :, 3], frames[:, :, 2]
        if not closed:
            ways = points[0] - points[1], points[-1] - points[-2]
            ends = [
                middle + way / np.linalg.norm(way) * _reach(feature, index, way) / 2
                for middle, way, index in zip(points[[0, -1]], ways, (first, last - 1), strict=True)
            ]
            points = np.concatenate([ends[:1], points, ends[1:]])
            outs = np.concatenate([outs[:1], outs, outs[-1:]])
        lines.append(_flowing(points, outs, closed))
    return Lines(tuple(lines)) if lines else "stones in a field make no row"


def _flowing(points: np.ndarray, outs: np.ndarray, closed: bool) -> Line:
    """A smooth line through the spots, unless they lie straight."""
    chords = np.diff(points, axis=0)
    ahead = unit(chords)
    if not closed and (ahead @ ahead[0]).min() > 1 - 1e-9:
        return Line(points, outs, False)
    path = smooth(points, closed, 24)
    count = len(points) if closed else len(points) - 1
    after = np.roll(outs, -1, axis=0)
    share = (np.arange(24) / 24)[None, :, None]
    spread = ((1 - share) * outs[:count, None] + share * after[:count, None]).reshape(-1, 3)
    if not closed:
        spread = np.concatenate([spread, outs[-1:]])
    spread = unit(spread)
    return Line(path, spread, closed)
