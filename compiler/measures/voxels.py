"""A solid as small cubes: which are metal, how far air is from metal, what air is connected."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .kinds import Flags, Floats, Ints, least, most, spread
from .labels import groups
from .skin import Skin

HAIR = 1e-6  # cubes; what rounding may cost


def fill(skin: Skin, origin: Floats, pitch: float, shape: tuple[int, int, int]) -> Flags:
    """Cubes whose middle is in metal, (nx, ny, nz); the first middle is at `origin`.

    Lines along z through the middles count crossings with the skin; they are moved aside by a millionth of
    the pitch so as not to run along edges."""
    v = (skin.corners - origin) / pitch - np.array([1.37e-6, 2.11e-6, 0.0])
    first = np.maximum(np.ceil(least(v[:, :, :2])), 0).astype(np.int64)
    last = np.floor(most(v[:, :, :2])).astype(np.int64)
    span = np.minimum(last, np.array(shape[:2]) - 1) - first + 1
    met = np.flatnonzero((span[:, 0] > 0) & (span[:, 1] > 0))  # few of the small triangles
    v, first, span = v[met], first[met], span[met]
    flips = np.zeros((shape[0], shape[1], shape[2] + 1), dtype=np.int8)  # odd or even is all that counts
    work = np.cumsum(span[:, 0] * span[:, 1])
    for part in np.split(np.arange(len(v)), np.searchsorted(work, np.arange(1, 40) * 1_000_000)):
        if len(part):
            _flip(v[part], first[part], span[part], flips)
    np.cumsum(flips, axis=2, out=flips)
    return np.asarray((flips[:, :, :-1] & 1).astype(bool))


def _flip(v: Floats, first: Ints, span: Ints, flips: NDArray[np.int8]) -> None:
    """Note every crossing of a line with these triangles at the first middle above it."""
    row, x = spread(span[:, 0], first[:, 0])
    low, high = _strip(v[row], x)
    low = np.maximum(np.ceil(low).astype(np.int64), first[row, 1])
    high = np.minimum(np.floor(high).astype(np.int64), (first + span)[row, 1] - 1)
    some, y = spread(np.maximum(high - low + 1, 0), low)
    row, x = row[some], x[some]
    a, b, c = v[row, 0], v[row, 1], v[row, 2]
    size = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    safe = np.where(size == 0, 1.0, size)
    s = ((x - a[:, 0]) * (c[:, 1] - a[:, 1]) - (y - a[:, 1]) * (c[:, 0] - a[:, 0])) / safe
    t = ((b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0])) / safe
    hit = (s >= 0) & (t >= 0) & (s + t <= 1) & (size != 0)
    x, y = x[hit], y[hit]
    z = (a[:, 2] + s * (b[:, 2] - a[:, 2]) + t * (c[:, 2] - a[:, 2]))[hit]
    level = np.clip(np.ceil(z), 0, flips.shape[2] - 1).astype(np.int64)
    np.add.at(flips, (x, y, level), 1)


def _strip(v: Floats, x: Ints) -> tuple[Floats, Floats]:
    """From where to where along y triangles (n, 3, 3) lie over a line at each x (n,), a hair more."""
    low, high = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    for k in range(3):
        (ax, ay), (bx, by) = v[:, k, :2].T, v[:, k - 2, :2].T
        met = (np.minimum(ax, bx) <= x) & (np.maximum(ax, bx) >= x)
        y = ay + (x - ax) / np.where(ax == bx, 1.0, bx - ax) * (by - ay)
        low, high = np.where(met, np.minimum(low, y), low), np.where(met, np.maximum(high, y), high)
    none = low > high
    low[none], high[none] = 0.0, -2.0
    return low - HAIR, high + HAIR


def reach(metal: Flags, most: int) -> Floats:
    """Distance of each cube's middle to the nearest middle in metal, in cubes; exact up to
    `most`, above that more than `most`. Three passes of shifted least sums."""
    # So that a square added to the farthest still goes into so many bits.
    kind, far = (np.uint16, 50_000) if most <= 120 else (np.int32, 1 << 30)
    square = np.where(metal, 0, far).astype(kind)
    for axis in range(3):
        done = square.copy()
        line, best = np.moveaxis(square, axis, 0), np.moveaxis(done, axis, 0)
        for k in range(1, min(most, len(line) - 1) + 1):
            further = np.add(line, k * k, dtype=kind)
            np.minimum(best[k:], further[:-k], out=best[k:])
            np.minimum(best[:-k], further[k:], out=best[:-k])
        square = done
    return np.sqrt(square, dtype=np.float32)


@dataclass(frozen=True, eq=False)
class Runs:
    """Runs of set cubes along z: ``first`` and ``last`` z of each, in ``column`` x * ny + y, in order."""

    column: Ints
    first: Ints
    last: Ints
    deep: int

    def beside(self, step: int, ok: Flags) -> tuple[Ints, Ints]:
        """Pairs of runs that touch: each that is ``ok`` with those ``step`` columns on."""
        run = np.flatnonzero(ok)
        start, end = (self.column * self.deep + z for z in (self.first, self.last))
        away = step * self.deep
        low = np.searchsorted(end, start[run] + away)
        high = np.searchsorted(start, end[run] + away, side="right")
        row, other = spread(np.maximum(high - low, 0), low)
        return run[row], other


def runs_of(mask: Flags) -> Runs:
    """The runs of set cubes of ``mask`` (nx, ny, nz)."""
    nx, ny, nz = mask.shape
    edge = np.zeros((nx, ny, nz + 2), dtype=bool)
    edge[:, :, 1:-1] = mask
    start = np.flatnonzero((edge[:, :, 1:-1] & ~edge[:, :, :-2]).reshape(-1))
    end = np.flatnonzero((edge[:, :, 1:-1] & ~edge[:, :, 2:]).reshape(-1))
    column = (start // nz).astype(np.int64)
    return Runs(column, (start % nz).astype(np.int64), (end % nz).astype(np.int64), nz)


def connected(mask: Flags) -> tuple[Ints, Ints, Ints, Ints]:
    """Runs of set cubes along z and which belong together across faces of cubes.

    Returns (group, column, first z, last z) of each run, columns numbered x * ny + y."""
    nx, ny, _ = mask.shape
    runs = runs_of(mask)
    pairs = [
        runs.beside(step, ok)
        for step, ok in (
            (ny, runs.column // ny < nx - 1), (1, runs.column % ny < ny - 1),
        )
    ]  # fmt: skip
    one, two = (np.concatenate(side) for side in zip(*pairs, strict=True))
    return groups(len(runs.first), one, two), runs.column, runs.first, runs.last
