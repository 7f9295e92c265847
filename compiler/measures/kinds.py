"""Array types of all the measures, and small vector helpers that numpy lacks."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Flags = NDArray[np.bool_]
else:  # what they are made of takes as long to load as a room of ours
    Floats = Ints = Flags = np.ndarray
Solid = Any
"""A `manifold3d.Manifold`; the kernel ships no types, and is only imported where it is used."""


def place_of(at: Floats) -> tuple[float, float, float]:
    """A place (3,) as plain figures."""
    x, y, z = np.asarray(at, dtype=float).tolist()
    return x, y, z


def dot(a: Floats, b: Floats) -> Floats:
    """Row by row scalar product of two (n, 3) arrays."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2])


def cross(a: Floats, b: Floats) -> Floats:
    """Row by row vector product of two (n, 3) arrays (three times faster than numpy's)."""
    made = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for x, y, z in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        np.subtract(a[..., y] * b[..., z], a[..., z] * b[..., y], out=made[..., x])
    return made


def flat_cross(a: Floats, b: Floats) -> Floats:
    """Row by row the vector product of two (n, 2) arrays: how far b turns left of a."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def length(a: Floats) -> Floats:
    """Row by row length of an (n, 3) array."""
    return np.sqrt(dot(a, a))


def unit(a: Floats) -> Floats:
    """Rows (n, 2) or (n, 3) scaled to length 1; a zero row stays zero."""
    size = length(a) if a.shape[-1] == 3 else np.linalg.norm(a, axis=-1)
    return np.asarray(a / np.where(size > 0, size, 1.0)[..., None])


def least(rows: Floats) -> Floats:
    """The least of each row of three, (n, ...); numpy's own is slow on short rows."""
    return np.asarray(np.minimum(np.minimum(rows[:, 0], rows[:, 1]), rows[:, 2]))


def most(rows: Floats) -> Floats:
    """The most of each row of three, (n, ...)."""
    return np.asarray(np.maximum(np.maximum(rows[:, 0], rows[:, 1]), rows[:, 2]))


def frame_of(axis: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors square to `axis` and to each other, the same every time; row by row of (n, 3)."""
    axis = unit(np.asarray(axis, dtype=float))
    first = unit(cross(np.eye(3)[np.argmin(np.abs(axis), axis=-1)], axis))
    return first, cross(axis, first)


def spread(counts: Ints, starts: Ints | None = None) -> tuple[Ints, Ints]:
    """Lay out ragged lists: (row of each item, position of each item).

    Row i yields `counts[i]` items numbered on from `starts[i]` (from 0 when not given)."""
    counts = np.asarray(counts, dtype=np.int64)
    rows = np.repeat(np.arange(len(counts), dtype=np.int64), counts)
    first = np.cumsum(counts) - counts
    offset = -first if starts is None else np.asarray(starts, dtype=np.int64) - first
    return rows, np.arange(len(rows), dtype=np.int64) + offset[rows]


def least_by_row(rows: Ints, values: Floats) -> tuple[Ints, Ints]:
    """(rows that occur, index of the least item of each), of a ragged list with `rows` in rising order."""
    if not len(rows):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    new = begins(rows)
    starts = new.nonzero()[0]
    least = np.minimum.reduceat(values, starts)
    hits = (values == least[np.cumsum(new) - 1]).nonzero()[0]
    return rows[starts], hits[begins(rows[hits])]


def begins(rows: Ints) -> Flags:
    """Which of some ordered numbers is not the one before it (much quicker than with numpy's r_)."""
    new = np.ones(len(rows), dtype=bool)
    np.not_equal(rows[1:], rows[:-1], out=new[1:])
    return new


def distinct(numbers: Ints) -> Ints:
    """The different ones of some whole numbers, in order (quicker than numpy's, which hashes)."""
    ordered = np.sort(numbers)
    return ordered[begins(ordered)]


def renumbered(numbers: Ints, count: int) -> Ints:
    """Numbers below `count` numbered anew without gaps, in the same order."""
    used = np.zeros(count, dtype=bool)
    used[numbers] = True
    return np.asarray((np.cumsum(used) - 1)[numbers])


def least_that(does: Callable[[float], bool], low: float, high: float, fine: float) -> float:
    """The least figure that ``does``, to within ``fine``; ``low`` does not, ``high`` does. By halves."""
    while high - low > fine:
        middle = (low + high) / 2
        low, high = (low, middle) if does(middle) else (middle, high)
    return high
