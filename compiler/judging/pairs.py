"""Which points come near which: pairs within a distance, found by a grid of cells."""

from __future__ import annotations

from itertools import product

import numpy as np

from ..measures.kinds import spread

_OFFSET, _SPAN = 1 << 19, 1 << 20  # cells a side; a piece is far smaller


def near_pairs(first: np.ndarray, second: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Indices (i, j) of points of ``first`` (n, 3) and ``second`` (m, 3) within ``reach`` mm.

    In order of i, then j. For few points all pairs are tried; for many, cells of ``reach``."""
    if len(first) * len(second) <= 40_000:
        i, j = np.nonzero(np.linalg.norm(first[:, None] - second[None], axis=2) <= reach)
        return i, j
    i, j = _by_cells(first, second, reach)
    close = np.linalg.norm(first[i] - second[j], axis=1) <= reach
    i, j = i[close], j[close]
    order = np.lexsort((j, i))
    return i[order], j[order]


def _by_cells(first: np.ndarray, second: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    cells = np.floor(first / reach).astype(np.int64) + _OFFSET
    keys = _keys(np.floor(second / reach).astype(np.int64) + _OFFSET)
    order = np.argsort(keys, kind="stable")
    keys = keys[order]
    left, right = [], []
    for shift in product((-1, 0, 1), repeat=3):
        wanted = _keys(cells + np.array(shift))
        start = np.searchsorted(keys, wanted, side="left")
        count = np.searchsorted(keys, wanted, side="right") - start
        if not count.any():
            continue
        i, place = spread(count, start)
        left.append(i)
        right.append(order[place])
    if not left:
        none = np.zeros(0, dtype=np.int64)
        return none, none
    return np.concatenate(left), np.concatenate(right)


def _keys(cells: np.ndarray) -> np.ndarray:
    keys: np.ndarray = (cells[:, 0] * _SPAN + cells[:, 1]) * _SPAN + cells[:, 2]
    return keys
