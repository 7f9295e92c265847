"""A field whose rows follow the edge of a flat face, as a setter lays them in a heart or a pear."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from . import frames as fr
from .inside import inside_loops
from .line import ring
from .outlines import trace_all
from .parallels import parallel
from .spacing import closed_row
from .surfaces import Flat

NEAREST = 0.985  # of the pitch: how near two stones of neighbouring rows may come
RISE = 1.0  # of the pitch, from row to row: each keeps all its stones where the edge bends gently
PHASES = 24  # ways of beginning a row that are tried
MOST_ROWS = 200


def bordered(face: Flat, step: float, margin: float) -> np.ndarray:
    """Frames (n, 3, 4) in rows along the outer edge, the first ``margin`` mm inside it, each evenly
    spaced ``step`` or a little more; the next rows nest into them as far as they have room."""
    outer = trace_all(face.outline)[0]
    kept = np.zeros((0, 2))
    for loop in _loops(outer, face.rim + margin, step * RISE):
        kept = np.concatenate([kept, _row(loop, step, kept)])
    kept = _filled(face, kept, step, margin)
    frames = fr.identity(len(kept))
    frames[:, :2, 3], frames[:, 2, 3] = kept, face.height
    return frames


def _loops(outer: np.ndarray, margin: float, rise: float) -> Iterator[np.ndarray]:
    """The edge moved in, row by row, until nothing is left; the very middle last."""
    loop = outer
    for row in range(MOST_ROWS):
        moved = parallel(outer, margin + row * rise)
        if len(moved) < 3 or np.ptp(moved, axis=0).min() < 1e-3:
            yield ((loop.min(axis=0) + loop.max(axis=0)) / 2)[None]
            return
        loop = moved
        yield loop


def _row(loop: np.ndarray, step: float, kept: np.ndarray) -> np.ndarray:
    """Spots (n, 2) of one row that keep off those there are: begun where most find room."""
    if len(loop) == 1:
        return _clear(loop, step, kept)
    line = ring(loop, 0.0)
    row = closed_row(line, lambda share, place: step, 0.0, None)
    long = line.length()
    if row is None:
        return _clear(line.frames_at(np.zeros(1))[:, :2, 3], step, kept)
    starts = np.arange(PHASES if len(kept) else 1) / PHASES * long / len(row.distances)
    tries = [
        _clear(line.frames_at((row.distances + start) % long)[:, :2, 3], step, kept)
        for start in starts
    ]
    return max(tries, key=len)


def _filled(face: Flat, kept: np.ndarray, step: float, margin: float) -> np.ndarray:
    """Those kept, and one more in every hole that still takes one, the tightest first."""
    outer = trace_all(face.outline)[0]
    low, high = outer.min(axis=0), outer.max(axis=0)
    ways = [np.arange(a, b, step / 8) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*ways), axis=-1).reshape(-1, 2)
    grid = grid[inside_loops(trace_all(face.outline), grid) > margin + face.rim]
    apart = np.linalg.norm(grid[:, None] - kept[None], axis=2).min(axis=1)
    while len(free := np.flatnonzero(apart >= step)):
        spot = grid[free[int(apart[free].argmin())]]
        kept = np.concatenate([kept, spot[None]])
        apart = np.minimum(apart, np.linalg.norm(grid - spot, axis=1))
    return kept


def _clear(spots: np.ndarray, step: float, kept: np.ndarray) -> np.ndarray:
    """Those of the spots, in order, that stand off all that are kept and off one another."""
    chosen: list[np.ndarray] = []
    for spot in spots:
        others = np.concatenate([kept, np.reshape(chosen, (-1, 2))])
        if not len(others) or np.linalg.norm(others - spot, axis=1).min() >= NEAREST * step:
            chosen.append(spot)
    return np.reshape(chosen, (-1, 2))
