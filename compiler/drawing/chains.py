"""Short straight pieces joined into long runs, as a pen would draw them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..measures.kinds import unit

GRID = 4  # spots closer than a quarter of a pixel are one
_STRAIGHT = 0.6  # cosine of the greatest turn where a run goes on across a crossing

Spot = tuple[int, int]
Joint = tuple[Spot, Spot]


def chains(ends: np.ndarray) -> list[np.ndarray]:
    """Runs of spots (k, 2) in pixels made of pieces (s, 2, 2); pieces drawn twice come once.

    A closed run ends on the spot it began with. The order depends on the input alone."""
    grid = np.rint(ends * GRID).astype(np.int64)
    links: dict[Spot, list[Spot]] = {}
    known: set[Joint] = set()
    for (ax, ay), (bx, by) in grid.tolist():
        a, b = (ax, ay), (bx, by)
        if a == b or (a, b) in known:
            continue
        known.add((a, b))
        known.add((b, a))
        links.setdefault(a, []).append(b)
        links.setdefault(b, []).append(a)
    return [np.array(run, dtype=float) / GRID for run in _walked(links)]


def _walked(links: dict[Spot, list[Spot]]) -> Iterable[list[Spot]]:
    """Every link once, in runs as long as they go on smoothly."""
    follow = {spot: _matched(spot, others) for spot, others in links.items()}
    done: set[Joint] = set()
    loose = [(s, o) for s, others in links.items() for o in others if o not in follow[s]]
    closed = [(s, o) for s, others in links.items() for o in others]
    for spot, other in (*loose, *closed):
        if (spot, other) in done:
            continue
        run = [spot, other]
        done |= {(spot, other), (other, spot)}
        while True:
            after = follow[run[-1]].get(run[-2])
            if after is None or (run[-1], after) in done:
                break
            done |= {(run[-1], after), (after, run[-1])}
            run.append(after)
        yield run


def _matched(spot: Spot, others: list[Spot]) -> dict[Spot, Spot]:
    """Which link goes on in which at a spot: the straightest pairs first."""
    if len(others) == 2:
        return {others[0]: others[1], others[1]: others[0]}
    if len(others) < 2:
        return {}
    ways = unit(np.array(others, dtype=float) - spot)
    bend = ways @ ways.T
    pairs = sorted((float(bend[i, j]), i, j) for i in range(len(others)) for j in range(i + 1, len(others)))
    found: dict[Spot, Spot] = {}
    for cosine, i, j in pairs:
        a, b = others[i], others[j]
        if cosine > -_STRAIGHT:
            break
        if a not in found and b not in found:
            found[a], found[b] = b, a
    return found
