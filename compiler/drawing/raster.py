"""What is in front: a depth buffer filled span by span, all triangles at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..measures.kinds import least, most, spread

_BLOCK = 2_000_000  # pixels worked on at a time: bounds the memory
_STEPS = 2**31 - 1  # depth is kept in so many steps, in front of the triangle's number


@dataclass(frozen=True, eq=False)
class Buffer:
    """``triangle`` (h, w) the number of the triangle in front or -1; ``depth`` (h, w) how far
    it is toward the onlooker, in pixels, -inf where there is nothing."""

    triangle: np.ndarray
    depth: np.ndarray


def fill(
    xy: np.ndarray, depth: np.ndarray, triangles: np.ndarray, numbers: np.ndarray, shape: tuple[int, int]
) -> Buffer:
    """Draw the ``triangles`` (m, 3) that ``numbers`` name.

    Their corners are ``xy`` (n, 2), in pixels from the upper left, and ``depth`` (n,), pixels. A pixel
    belongs to a triangle when its middle does."""
    low = float(depth.min())
    step = max(float(depth.max()) - low, 1e-9) / _STEPS
    keys = np.full(shape[0] * shape[1], -1, dtype=np.int64)
    chosen = triangles[numbers]
    for owner, row, first, count in _spans(xy, chosen, shape):
        which, column = spread(count, first)
        number = owner[which]
        z = blended(xy[chosen], depth[chosen], number, column + 0.5, row[which] + 0.5)
        key = (((z - low) / step).astype(np.int64) << 32) | numbers[number]
        np.maximum.at(keys, row[which] * shape[1] + column, key)
    seen = keys >= 0
    found = np.where(seen, keys & 0xFFFFFFFF, -1).reshape(shape)
    far = np.where(seen, (keys >> 32) * step + low, -np.inf).reshape(shape)
    return Buffer(found, far)


Block = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _spans(xy: np.ndarray, triangles: np.ndarray, shape: tuple[int, int]) -> Iterator[Block]:
    """Blocks of spans: (triangle, row, first column, number of columns) arrays."""
    corners = xy[triangles]
    y = corners[:, :, 1]
    top = np.clip(np.ceil(y.min(axis=1) - 0.5), 0, shape[0]).astype(np.int64)
    bottom = np.clip(np.ceil(y.max(axis=1) - 0.5), 0, shape[0]).astype(np.int64)
    rows = bottom - top
    owner, row = spread(rows, top)
    left, right = _crossings(corners, owner, row + 0.5)
    first = np.clip(np.ceil(left - 0.5), 0, shape[1]).astype(np.int64)
    count = np.clip(np.ceil(right - 0.5), 0, shape[1]).astype(np.int64) - first
    some = count > 0
    owner, row, first, count = owner[some], row[some], first[some], count[some]
    ends = np.cumsum(count)
    start = 0
    while start < len(owner):
        base = ends[start - 1] if start else 0
        stop = max(int(np.searchsorted(ends, base + _BLOCK)), start + 1)
        yield owner[start:stop], row[start:stop], first[start:stop], count[start:stop]
        start = stop


def _crossings(corners: np.ndarray, owner: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where a triangle's sides cross the middle of a row: the least and the greatest x."""
    left, right = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    for side in range(3):
        a, b = corners[owner, side], corners[owner, (side + 1) % 3]
        crossing = (a[:, 1] <= y) != (b[:, 1] <= y)
        fall = np.where(crossing, b[:, 1] - a[:, 1], 1.0)
        x = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / fall
        left = np.where(crossing, np.minimum(left, x), left)
        right = np.where(crossing, np.maximum(right, x), right)
    empty = ~np.isfinite(left)
    return np.where(empty, 0.0, left), np.where(empty, 0.0, right)


def blended(
    xy: np.ndarray, values: np.ndarray, number: np.ndarray, x: np.ndarray, y: np.ndarray
) -> np.ndarray:
    """A value at (x, y) in triangle ``number``: triangles have corners ``xy`` (m, 3, 2) with
    ``values`` (m, 3) there; between those of its corners everywhere."""
    a, b, c = (xy[:, k] for k in range(3))
    za, zb, zc = (values[:, k] for k in range(3))
    u, v = b - a, c - a
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    area = np.where(np.abs(area) > 1e-12, area, np.inf)
    slope_x = ((zb - za) * v[:, 1] - (zc - za) * u[:, 1]) / area
    slope_y = ((zc - za) * u[:, 0] - (zb - za) * v[:, 0]) / area
    base = za - slope_x * a[:, 0] - slope_y * a[:, 1]
    low, high = least(values), most(values)
    z = base[number] + slope_x[number] * x + slope_y[number] * y
    return np.clip(z, low[number], high[number])
