"""Where the work of a piece repeats along a straight way: finds the folds of ``folds``.

A stretch repeats when every copy that reaches into it stands in an even row of one pitch that
goes on past both its ends, or runs straight through it (a bar, a hollow). Whatever is neither
is a bar across the way: a stretch ends there.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import field

import numpy as np

from ...lang.lean import dataclass
from .copies import Copies
from .folds import LONG, Fold, Folds, straight_through

LEAST_PERIODS = 6  # a stretch shorter than this is not worth it
MANY = 8  # a row of fewer copies gives no pitch
WORTH = 2_000  # triangles a fold must spare
SAME = 1e6  # copies stand alike when they agree to 1 / SAME mm
ROOM = 1e-4  # mm kept from the ends of a stretch
CROWD = 40_000  # more copies than this are not searched


@dataclass(frozen=True, eq=False)
class Place:
    """Copies that one step brings: ``step`` counts the order of work, ``boxes`` (n, 6). ``copies``
    is None for parts built by themselves; ``alike`` tells which may be of one row. Copies of no
    ``triangles`` are only in the way."""

    step: int
    frames: np.ndarray
    boxes: np.ndarray
    alike: str
    owner: int
    triangles: int
    copies: Copies | None = None


@dataclass(eq=False)
class Crowd:
    """All copies of all places, a row each: its ``place`` and ``index`` there."""

    places: Sequence[Place]
    place: np.ndarray = field(init=False)
    index: np.ndarray = field(init=False)
    boxes: np.ndarray = field(init=False)
    frames: np.ndarray = field(init=False)
    kind: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        sizes = [len(place.frames) for place in self.places]
        self.place = np.repeat(np.arange(len(sizes)), sizes)
        self.index = np.concatenate([np.arange(size) for size in sizes])
        self.boxes = np.concatenate([place.boxes for place in self.places])
        self.frames = np.concatenate([place.frames for place in self.places])
        turns = np.round(self.frames[:, :, :3].reshape(-1, 9) * SAME).astype(np.int64)
        names: dict[tuple[object, ...], int] = {}
        alike = [self.places[row].alike for row in self.place]
        self.kind = np.array([
            names.setdefault((name, turn.tobytes()), len(names))
            for name, turn in zip(alike, turns, strict=True)
        ])  # fmt: skip

    def lanes(self, axis: int) -> np.ndarray:
        """A number for each row: the same for copies alike that stand in one line along ``axis``."""
        others = [k for k in range(3) if k != axis]
        spots = np.round(self.frames[:, others, 3] * SAME).astype(np.int64)
        return np.unique(
            np.column_stack([self.kind, spots]), axis=0, return_inverse=True
        )[1].reshape(-1)


@dataclass(frozen=True, eq=False)
class Chains:
    """Even rows along an axis: ``chain`` (n,) numbers the row of each copy, ``rank`` its place in
    it, -1 for a copy that is in none."""

    chain: np.ndarray
    rank: np.ndarray
    pitch: float


def folds_of(places: Sequence[Place]) -> tuple[Folds, Crowd, dict[int, Chains]] | None:
    """The folds of a piece, its copies and the rows they go by; None when nothing repeats
    enough."""
    if not places or sum(len(place.frames) for place in places) > CROWD:
        return None
    crowd = Crowd(places)
    folds: list[Fold] = []
    rows: dict[int, Chains] = {}
    for axis in range(3):
        for pitch in _pitches(crowd, axis):
            chains = _chains(crowd, axis, pitch)
            found = _along(crowd, axis, chains)
            if found:
                rows[axis] = chains
                folds += found
                break
    return (Folds(tuple(folds)), crowd, rows) if folds else None


def pitches_of(places: Sequence[Place]) -> list[float]:
    """The pitches of long even rows along any axis."""
    places = [place for place in places if len(place.frames)]
    if not places or sum(len(place.frames) for place in places) > CROWD:
        return []
    crowd = Crowd(places)
    return [pitch for axis in range(3) for pitch in _pitches(crowd, axis)]


def _pitches(crowd: Crowd, axis: int) -> list[float]:
    """Up to three pitches of long even rows, those of most triangles first."""
    lanes = crowd.lanes(axis)
    order = np.lexsort((crowd.frames[:, axis, 3], lanes))
    lane, spot = lanes[order], crowd.frames[order, axis, 3]
    size = np.array([place.triangles for place in crowd.places])[crowd.place[order]]
    same = lane[1:] == lane[:-1]
    steps = np.round(np.diff(spot) * SAME).astype(np.int64)
    weight: Counter[int] = Counter()
    count: Counter[int] = Counter()
    for step, ok, triangles in zip(steps.tolist(), same.tolist(), size[1:].tolist(), strict=True):
        if ok and step > 0 and triangles:
            weight[step] += triangles
            count[step] += 1
    wide = [step for step, _ in weight.most_common() if count[step] >= MANY]
    merged: list[int] = []
    for step in wide:
        if all(abs(step - other) > 2 for other in merged):
            merged.append(step)
    return [_exact(spot, lane, step) for step in merged[:3]]


def _exact(spot: np.ndarray, lane: np.ndarray, step: int) -> float:
    """The pitch told by the longest row of steps near ``step``."""
    close = (np.abs(np.diff(spot) * SAME - step) <= 2) & (lane[1:] == lane[:-1])
    edges = np.flatnonzero(np.diff(np.concatenate([[0], close.astype(int), [0]])))
    first, last = max(edges.reshape(-1, 2).tolist(), key=lambda pair: pair[1] - pair[0])
    return float(round((spot[last] - spot[first]) / (last - first), 12))


def _chains(crowd: Crowd, axis: int, pitch: float) -> Chains:
    """Rows of copies that stand ``pitch`` apart."""
    lanes = crowd.lanes(axis).tolist()
    spots = np.round(crowd.frames[:, axis, 3] * SAME).astype(np.int64).tolist()
    long = crowd.boxes[:, axis + 3] - crowd.boxes[:, axis] > LONG * pitch
    at: dict[tuple[int, int], int] = {}
    for row in np.flatnonzero(~long).tolist():
        at.setdefault((lanes[row], spots[row]), row)
    step = round(pitch * SAME)
    after = np.full(len(lanes), -1)
    for (lane, spot), row in at.items():
        for near in (spot + step, spot + step - 1, spot + step + 1):
            found = at.get((lane, near))
            if found is not None:
                after[row] = found
                break
    chain, rank = np.full(len(lanes), -1), np.full(len(lanes), -1)
    led = np.zeros(len(lanes), dtype=bool)
    led[after[after >= 0]] = True
    for number, first in enumerate(np.flatnonzero((after >= 0) & ~led).tolist()):
        row, place = first, 0
        while row >= 0:
            chain[row], rank[row] = number, place
            row, place = int(after[row]), place + 1
    return Chains(chain, rank, pitch)


def _along(crowd: Crowd, axis: int, chains: Chains) -> list[Fold]:
    """Folds between the bars across the way."""
    low, high = crowd.boxes[:, axis], crowd.boxes[:, axis + 3]
    alone = chains.chain < 0
    long = alone & (high - low > LEAST_PERIODS * chains.pitch)
    bars = [_ends_of_rows(low, high, chains), np.stack([low, high], axis=1)[alone & ~long]]
    bars += _lone(crowd, np.flatnonzero(long), axis, LEAST_PERIODS * chains.pitch)
    return _between(np.concatenate(bars), crowd, axis, chains)


def _ends_of_rows(low: np.ndarray, high: np.ndarray, chains: Chains) -> np.ndarray:
    """Bars (k, 2) at both ends of each row: between its first (last) reach and where it looks
    endless; a mere place where copies are shorter than the pitch."""
    members = np.flatnonzero(chains.chain >= 0)
    order = members[np.lexsort((chains.rank[members], chains.chain[members]))]
    number = chains.chain[order]
    starts = np.flatnonzero(np.diff(number, prepend=-1))
    first, last = order[starts], order[np.append(starts[1:], len(order))[: len(starts)] - 1]
    before, after = high[first] - chains.pitch, low[last] + chains.pitch
    left = np.stack([np.minimum(low[first], before), before], axis=1)
    left[before <= low[first], 0] = before[before <= low[first]]
    right = np.stack([after, np.maximum(high[last], after)], axis=1)
    return np.concatenate([left, right])


def _lone(crowd: Crowd, rows: np.ndarray, axis: int, least: float) -> list[np.ndarray]:
    """Bars (k, 2) of long copies: all of each, but where it runs straight through."""
    known: dict[int, list[tuple[float, float]]] = {}
    found = []
    for row in rows.tolist():
        start, stop = float(crowd.boxes[row, axis]), float(crowd.boxes[row, axis + 3])
        kind = int(crowd.kind[row])
        copies = crowd.places[crowd.place[row]].copies
        if kind not in known:  # copies alike run straight through alike, from their own origin
            turn = crowd.frames[row] * (np.arange(4) < 3)
            known[kind] = [] if copies is None else straight_through(copies.mesh, turn, axis, least)
        bars = []
        for low, high in known[kind]:
            bars.append((start, low + crowd.frames[row, axis, 3]))
            start = float(high + crowd.frames[row, axis, 3])
        found.append(np.array([*bars, (start, stop)]))
    return found


def _between(bars: np.ndarray, crowd: Crowd, axis: int, chains: Chains) -> list[Fold]:
    """A fold in each wide enough stretch without bars (k, 2), if it spares enough."""
    bars = bars[np.lexsort(bars.T[::-1])]
    found = []
    reach = float(bars[0, 1])
    for low, high in bars[1:].tolist():
        if low > reach:
            fold = _fold(reach + ROOM, low - ROOM, crowd, axis, chains)
            if fold is not None:
                found.append(fold)
        reach = max(reach, high)
    return found


def _fold(low: float, high: float, crowd: Crowd, axis: int, chains: Chains) -> Fold | None:
    """The fold between two ends, cut where few points lie."""
    pitch = chains.pitch
    if high - low < LEAST_PERIODS * pitch:
        return None
    rows = (chains.chain >= 0) & (crowd.boxes[:, axis] < high) & (crowd.boxes[:, axis + 3] > low)
    phase = _phase(crowd, np.flatnonzero(rows), axis, pitch)
    # Counted from the phase, so that a row moved at its end by a hair is cut at the same places.
    at = round(phase + math.ceil((low + pitch - phase) / pitch) * pitch, 9)
    times = int((high - at) / pitch)
    if times < LEAST_PERIODS - 3:
        return None
    fold = Fold(axis, at, pitch, times)
    out = Folds((fold,)).left_out(crowd.boxes, axis) & rows
    size = np.array([place.triangles for place in crowd.places])
    return fold if int(size[crowd.place[out]].sum()) >= WORTH else None


def _phase(crowd: Crowd, rows: np.ndarray, axis: int, pitch: float) -> float:
    """The middle of the widest gap between points of the copies, counted within one period."""
    seen: set[tuple[int, int, int]] = set()
    spots = []
    for row in rows.tolist():
        frame = crowd.frames[row]
        start = float(frame[axis, 3]) % pitch
        mark = (int(crowd.kind[row]), round(start * 1e4), 0)
        copies = crowd.places[crowd.place[row]].copies
        if mark in seen or copies is None:
            continue
        seen.add(mark)
        spots.append((copies.mesh.points @ frame[axis, :3] + start) % pitch)
    if not spots:
        return 0.0
    every = np.unique(np.round(np.concatenate(spots), 7))
    gaps = np.diff(np.concatenate([every, [every[0] + pitch]]))
    widest = int(np.argmax(np.round(gaps, 6)))
    return float(every[widest] + gaps[widest] / 2)
