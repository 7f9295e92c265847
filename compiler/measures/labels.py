"""Connected groups of anything numbered, and neighbours on a lattice."""

from __future__ import annotations

from itertools import product

import numpy as np

from .kinds import Floats, Ints, renumbered


def groups(count: int, one: Ints, two: Ints) -> Ints:
    """Group number of each of `count` items joined by the links one[i]-two[i].

    Groups are numbered in the order of their lowest item. Hooks each root on a lower one and shortens the
    chains, so the rounds grow as the logarithm of the longest chain."""
    root = np.arange(count, dtype=np.int64)
    while len(one):
        a, b = root[one], root[two]
        apart = a != b
        one, two, a, b = one[apart], two[apart], a[apart], b[apart]
        np.minimum.at(root, np.maximum(a, b), np.minimum(a, b))
        while True:
            shorter = root[root]
            if np.array_equal(shorter, root):
                break
            root = shorter
    return renumbered(root, count)


def lattice(at: Floats, cell: float, kind: Ints | None = None) -> tuple[Ints, Ints, Ints]:
    """Sort positions (n, 3) into cells of a lattice and link the cells that touch.

    `kind` (n,) keeps unlike things apart. Returns (cell number of each position, links one, links two), cells
    numbered in a fixed order; cells touch across faces, edges and corners."""
    spots = np.floor((at - at.min(axis=0)) / cell).astype(np.int64) + 1 if len(at) else at
    spots = np.asarray(spots, dtype=np.int64).reshape(-1, 3)
    wide = (spots.max(axis=0) if len(spots) else np.zeros(3, dtype=np.int64)) + 2
    kind = np.zeros(len(spots), dtype=np.int64) if kind is None else kind
    keys = ((kind * wide[0] + spots[:, 0]) * wide[1] + spots[:, 1]) * wide[2] + spots[:, 2]
    cells, member = np.unique(keys, return_inverse=True)
    ones, twos = [], []
    for i, j, k in product((-1, 0, 1), repeat=3):
        if (i, j, k) <= (0, 0, 0):
            continue  # of the 26 neighbours the 13 that come later in order
        step = (i * wide[1] + j) * wide[2] + k
        place = np.minimum(np.searchsorted(cells, cells + step), max(len(cells) - 1, 0))
        hit = np.flatnonzero(cells[place] == cells + step) if len(cells) else place
        ones.append(hit)
        twos.append(place[hit])
    return member.reshape(-1).astype(np.int64), np.concatenate(ones), np.concatenate(twos)
