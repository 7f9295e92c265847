"""Stones and their neighbours: the gaps of a row, the line through a row.

Each function takes a feature of stones and gives places or a line, or a text saying why not."""

from __future__ import annotations

import itertools

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.smooth import smooth
from .feature import Feature, Lines, Places


def gaps(feature: Feature) -> Places | str:
    """The places between neighbours in a row, and one beyond each end.

    Each frame stands half way between two girdles, x from one stone to the next. Figures:
    ``apart`` centre to centre, ``before`` and ``after`` the two stones' widths along the row,
    ``crown`` how far up a prong must reach there to stand level with the higher table, mm;
    ``veer`` how far the row turns to the left at the stone after it, degrees.
    Beyond an end stone the same gap is continued, so that end stones are held like the others."""
    if not feature.chains:
        return "stones in a field have no gaps to share; ask for their nooks"
    found = []
    for first, last, closed in feature.chains:
        if last - first < 2:
            return "a single stone has no gap to share"
        found.append(_chain_gaps(feature, first, last, closed))
    names = "apart", "before", "after", "crown", "veer"
    frames, *figures = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Places(frames, dict(zip(names, figures, strict=True)))


def _chain_gaps(
    feature: Feature, first: int, last: int, closed: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
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
    return places, apart, before, after, np.array(tall), _turns(places, closed)


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


def path(feature: Feature) -> Lines | str:
    """The line through the middles of each row, looking out as the stones do; it reaches past
    the end stones by half a stone."""
    lines = []
    for first, last, closed in feature.chains:
        frames = feature.frames[first:last]
        if len(frames) < 2:
            return "a single stone makes no row"
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
    unit = chords / np.linalg.norm(chords, axis=1, keepdims=True)
    if not closed and (unit @ unit[0]).min() > 1 - 1e-9:
        return Line(points, outs, False)
    path = smooth(points, closed, 24)
    count = len(points) if closed else len(points) - 1
    after = np.roll(outs, -1, axis=0)
    share = (np.arange(24) / 24)[None, :, None]
    spread = ((1 - share) * outs[:count, None] + share * after[:count, None]).reshape(-1, 3)
    if not closed:
        spread = np.concatenate([spread, outs[-1:]])
    spread = spread / np.linalg.norm(spread, axis=1, keepdims=True)
    return Line(path, spread, closed)
