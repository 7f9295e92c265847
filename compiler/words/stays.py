"""Stays between parts of an outline that stand apart: dots and accents to their letters. Lengths mm."""

from __future__ import annotations

import numpy as np

from ..geometry.outlines import signed_area
from ..geometry.parallels import next_of

STEP = 0.05  # mm between the spots of a rim that is looked at, at least so many of it
LEAST = 24
NEAR = 2.0  # times its own height: a dot no farther off stands over its letter
INTO = 0.2  # of its width, an upright strip goes into what it joins
SLANT = 3.0  # how much longer a way to the side counts: a dot stands on its own letter


def stays(loops: list[np.ndarray], wide: float) -> list[np.ndarray]:
    """Strips (4, 2) that join all outer ``loops`` (n, 2), as few and short as can be, each ``wide``: upright
    from the middle of a dot that stands over its letter, else half their width into what they join."""
    outer = [loop for loop in loops if signed_area(loop) > 0]
    edges = [_divided(loop) for loop in outer]
    boxes = [(loop.min(axis=0), loop.max(axis=0)) for loop in outer]
    joined, apart, made = [0], list(range(1, len(outer))), []
    uprights: dict[tuple[int, ...], tuple[float, np.ndarray] | None] = {}
    asides: dict[tuple[int, int], tuple[float, np.ndarray]] = {}
    least = np.full((len(outer), len(outer)), np.inf)  # slanted, what two are apart at least
    for k, (low, high) in enumerate(boxes):
        gaps = [np.maximum(0.0, np.maximum(low - top, bottom - high)) for bottom, top in boxes]
        least[k] = [np.linalg.norm(gap * (SLANT, 1.0)) for gap in gaps]

    def way(k: int, most: float) -> tuple[float, np.ndarray] | None:
        """The shortest from one of them to those joined, if it is shorter than ``most``."""
        tall = boxes[k][1][1] - boxes[k][0][1]
        near = tuple(j for j in joined if least[k, j] <= NEAR * tall)
        if near and (k, *near) not in uprights:
            uprights[k, *near] = _upright(outer[k], [outer[j] for j in near], loops, wide)
        best = uprights.get((k, *near))
        for j in sorted(joined, key=lambda one: least[k, one]) if best is None else ():
            if least[k, j] >= (most if best is None else best[0]):
                break
            if (k, j) not in asides:
                asides[k, j] = _aside(edges[j], edges[k], wide)
            found = asides[k, j]
            best = found if best is None or found[0] < best[0] else best
        return best

    while apart:
        chosen: tuple[float, np.ndarray, int] | None = None
        for k in sorted(apart, key=lambda one: least[one, joined].min()):
            found = way(k, np.inf if chosen is None else chosen[0])
            if found is not None and (chosen is None or found[0] < chosen[0]):
                chosen = *found, k
        assert chosen is not None
        made.append(chosen[1])
        joined.append(chosen[2])
        apart.remove(chosen[2])
    return made


def _aside(one: np.ndarray, other: np.ndarray, wide: float) -> tuple[float, np.ndarray]:
    """How long, slanting counted as longer, and the strip between two rims (n, 2) where they are nearest."""
    start, end = _nearest(one, other)
    return float(np.linalg.norm((end - start) * (SLANT, 1.0))), _strip(start, end, wide)


def _upright(
    loop: np.ndarray, joined: list[np.ndarray], loops: list[np.ndarray], wide: float
) -> tuple[float, np.ndarray] | None:
    """How long, and the strip straight down or up from the middle of a part, no wider than that, into what
    stands there all over its width and not out of it again; None where nothing stands so near."""
    low, high = loop.min(axis=0), loop.max(axis=0)
    middle, tall = (low + high) / 2, float(high[1] - low[1])
    half = min(wide, float(high[0] - low[0])) / 2
    starts = middle + np.array([(0.0, 0.0), (-half, 0.0), (half, 0.0)])
    for way in (-1.0, 1.0):
        met = [_met(joined, spot, way) for spot in starts]
        if not len(met[0]) or met[0][0] - tall / 2 > NEAR * tall:
            continue
        hits = [(spot, float(one[0])) for spot, one in zip(starts, met, strict=True) if len(one)]
        into = max(far for _, far in hits)
        out = min(
            _met(loops, np.array((x, y + way * (far + STEP / 1e3))), way)[0] + far for (x, y), far in hits
        )
        end = np.array((middle[0], middle[1] + way * max(min(into + INTO * wide, float(out)), into)))
        side = np.array((half * way, 0.0))
        return float(met[0][0] - tall / 2), np.array([middle + side, end + side, end - side, middle - side])
    return None


def _met(loops: list[np.ndarray], spot: np.ndarray, way: float) -> np.ndarray:
    """How far up (``way`` 1) or down (-1) from a spot (2,) closed loops are met, nearest first."""
    found = []
    for loop in loops:
        start, after = loop - spot, next_of(loop) - spot
        over = (start[:, 0] <= 0) != (after[:, 0] <= 0)
        run = after[over] - start[over]
        far = way * (start[over, 1] - start[over, 0] / run[:, 0] * run[:, 1])
        found.append(far[far > 0])
    return np.sort(np.concatenate(found))


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
