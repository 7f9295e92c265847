"""Stays between parts of an outline that stand apart: dots and accents to their letters. Lengths mm."""

from __future__ import annotations

import numpy as np

from ..geometry.outlines import signed_area
from ..geometry.parallels import next_of

STEP = 0.05  # mm between the spots of a rim that is looked at, at least so many of it
LEAST = 24
SLANT = 3.0  # how much longer a way to the side counts: a dot stands on its own letter


def stays(loops: list[np.ndarray], wide: float) -> list[np.ndarray]:
    """Strips (4, 2) that join all outer ``loops`` (n, 2), as few and short as can be, each ``wide`` and half
    of that into what it joins."""
    rims = [_divided(loop) for loop in loops if signed_area(loop) > 0]
    joined, apart, made = rims[:1], rims[1:], []
    while apart:
        near = [_nearest(np.concatenate(joined), rim) for rim in apart]
        k = int(np.argmin([np.linalg.norm((end - start) * (SLANT, 1.0)) for start, end in near]))
        made.append(_strip(*near[k], wide))
        joined.append(apart.pop(k))
    return made


def _divided(loop: np.ndarray) -> np.ndarray:
    chord = next_of(loop) - loop
    counts = np.maximum(1, np.ceil(np.linalg.norm(chord, axis=1) / STEP).astype(int))
    if counts.sum() < LEAST:
        counts *= LEAST // len(loop) + 1
    index = np.repeat(np.arange(len(loop)), counts)
    share = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[index]
    return np.asarray(loop[index] + share[:, None] * chord[index])


def _nearest(one: np.ndarray, other: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The spots of two rims that stand nearest, upright if at all; of many alike those in the middle."""
    apart = np.linalg.norm((one[:, None] - other[None]) * (SLANT, 1.0), axis=2)
    first, second = np.nonzero(apart <= apart.min() + STEP / 2)
    k = int(np.argmin(np.linalg.norm(one[first] - one[first].mean(axis=0), axis=1)))
    return one[first[k]], other[second[k]]


def _strip(start: np.ndarray, end: np.ndarray, wide: float) -> np.ndarray:
    way = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    side = wide / 2 * np.array((-way[1], way[0]))
    start, end = start - wide / 2 * way, end + wide / 2 * way
    return np.array([start - side, end - side, end + side, start + side])
