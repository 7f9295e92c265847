"""Stays between parts of an outline that stand apart: dots to letters, letters to letters. Lengths mm."""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from itertools import combinations

import numpy as np

from ..geometry.outlines import signed_area
from ..geometry.parallels import next_of

STEP = 0.05  # mm between the rows that are looked at
FLAT = 1e-6  # mm from the ends of what is looked at, where an outline may run along a row
NEAR = 1.0  # times its own height: a dot no farther off stands over its letter
INTO = 0.2  # of its width, a strip goes into what it joins
SLANT = 3.0  # how much longer a strip aslant counts
MIRRORED = np.array((-1.0, 1.0))

Strip = tuple[float, np.ndarray]  # how long it counts, its corners (4, 2)


def stays(loops: list[np.ndarray], wide: float) -> list[np.ndarray]:
    """Strips (4, 2) that join all outer ``loops`` (n, 2), as few and short as can be, ``wide`` or as wide
    as what they join: upright between a dot and its letter, level from letter to letter, between the feet and
    the heads of both; aslant where none goes straight."""
    outer = [loop for loop in loops if signed_area(loop) > 0]
    low, high = (np.array([end(loop, axis=0) for loop in outer]) for end in (np.min, np.max))
    over = [_letter_of(k, low, high) for k in range(len(outer))]
    made = [_upright(outer[k], outer[j], loops, wide) for k, j in enumerate(over) if j is not None]
    letters = [k for k, j in enumerate(over) if j is None]
    group = list(range(len(outer)))
    nearest: list[tuple[float, int, int, list[np.ndarray]]] = [
        (float(np.linalg.norm(np.maximum(0.0, np.maximum(low[k] - high[j], low[j] - high[k])))), j, k, [])
        for j, k in combinations(letters, 2)
    ]
    heapify(nearest)
    while nearest:
        _, j, k, strips = heappop(nearest)
        if group[j] != group[k] and not strips:  # so far only the least that it can be
            long, strip = _level(outer[j], outer[k], loops, wide) or _aslant(outer[j], outer[k], wide)
            heappush(nearest, (long, j, k, [strip]))
        elif group[j] != group[k]:
            made += strips
            group = [group[j] if one == group[k] else one for one in group]
    return made


def _letter_of(k: int, low: np.ndarray, high: np.ndarray) -> int | None:
    """The letter a dot stands over or under: the nearest that is taller; None of what is no dot."""
    tall = high[:, 1] - low[:, 1]
    apart = np.maximum(low - high[k], low[k] - high)
    over = (apart[:, 0] < 0) & (apart[:, 1] > 0) & (apart[:, 1] < NEAR * tall[k])
    over &= (tall > tall[k]) | ((tall == tall[k]) & (np.arange(len(tall)) < k))
    return int(np.where(over, apart[:, 1], np.inf).argmin()) if over.any() else None


def _upright(dot: np.ndarray, letter: np.ndarray, loops: list[np.ndarray], wide: float) -> np.ndarray:
    """The strip from a dot to its letter, as near the dot's middle as can be."""
    middle = float(dot[:, 0].min() + dot[:, 0].max()) / 2
    lying = _level(dot[:, ::-1], letter[:, ::-1], [loop[:, ::-1] for loop in loops], wide, middle)
    return lying[1][::-1, ::-1] if lying else _aslant(dot, letter, wide)[1]


def _level(
    one: np.ndarray, other: np.ndarray, loops: list[np.ndarray], wide: float, middle: float | None = None
) -> Strip | None:
    """The strip that lies level from one outline to another, between the ends of both, with the least air
    to fill: of many alike the lowest, or that nearest a ``middle``. None where they are not side by side."""
    if one[:, 0].min() + one[:, 0].max() > other[:, 0].min() + other[:, 0].max():
        one, other = other, one
    ends = np.array([(loop[:, 1].min() + FLAT, loop[:, 1].max() - FLAT) for loop in (one, other)])
    bottom, top = ends[:, 0].max(), ends[:, 1].min()
    high = min(wide, *(ends[:, 1] - ends[:, 0]))
    if top - bottom < high - FLAT:
        return None
    if middle is not None:
        bottom = max(min(middle - high / 2, top - high), bottom)
        top = bottom + high
    steps = max(1, round(high / STEP))
    rows = bottom + np.arange(int((top - bottom + FLAT) / high * steps) + 1) * high / steps
    right, left = _met([one], rows).max(axis=1), -_met([other * MIRRORED], rows).max(axis=1)
    starts, stops, least, air = (
        end(np.lib.stride_tricks.sliding_window_view(side, steps + 1), axis=1)
        for end, side in ((np.min, right), (np.max, left), (np.min, left - right), (np.mean, left - right))
    )
    air = np.where(least > 0, air, np.inf)
    k = int((air < air.min() + STEP / 5).argmax())
    if np.isinf(air[k]):
        return None
    across = rows[[k, k + steps // 2, k + steps]]
    start = _into(loops, across, starts[k], INTO * wide)
    stop = -_into([loop * MIRRORED for loop in loops], across, -stops[k], INTO * wide)
    y, above = across[[0, 2]]
    return float(stops[k] - starts[k]), np.array([(start, y), (stop, y), (stop, above), (start, above)])


def _met(loops: list[np.ndarray], rows: np.ndarray) -> np.ndarray:
    """How far right each edge of closed loops meets each row (rows, edges), -inf where it does not."""
    start, after = np.concatenate(loops), np.concatenate([next_of(loop) for loop in loops])
    up = rows[:, None] - start[:, 1]
    rise = after[:, 1] - start[:, 1]
    over = (up < 0) != (up < rise)
    return np.where(over, start[:, 0] + up / np.where(rise, rise, 1.0) * (after[:, 0] - start[:, 0]), -np.inf)


def _into(loops: list[np.ndarray], rows: np.ndarray, start: float, by: float) -> float:
    """Where a strip begins that goes ``by`` mm left into what ends at ``start``, or half through it."""
    met = _met(loops, rows)
    return float(start - min(by, (start - met[met < start - FLAT].max()) / 2))


def _aslant(one: np.ndarray, other: np.ndarray, wide: float) -> Strip:
    """How long it counts, and the strip between two rims (n, 2) where they are nearest."""
    rims = [_divided(one), _divided(other)]
    apart = np.linalg.norm(rims[0][:, None] - rims[1][None], axis=2)
    j, k = np.unravel_index(apart.argmin(), apart.shape)
    start, end = rims[0][j], rims[1][k]
    way = (end - start) / max(float(apart[j, k]), FLAT)
    side = wide / 2 * np.array((-way[1], way[0]))
    start, end = start - wide / 2 * way, end + wide / 2 * way
    return SLANT * float(apart[j, k]), np.array([start - side, end - side, end + side, start + side])


def _divided(loop: np.ndarray) -> np.ndarray:
    """Spots of a closed loop, about STEP apart."""
    chord = next_of(loop) - loop
    counts = np.maximum(1, np.ceil(np.linalg.norm(chord, axis=1) / STEP).astype(int))
    index = np.repeat(np.arange(len(loop)), counts)
    share = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[index]
    return np.asarray(loop[index] + share[:, None] * chord[index])
