"""Where liquid metal is cut off: metal that freezes after all that could feed it.

As metal freezes, what is still liquid falls apart into pools. A pool that holds no feed (the end of a
sprue) shrinks without anything to fill it: a hole is left where it froze last. This is directional
solidification as every foundry handbook has it (J. Campbell, Complete Casting Handbook, 2011, the
feeding rules; from memory), read off the times at which the cells froze."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Floats, Ints
from .freeze import Frozen

_STEPS = [(a, b, c) for a in (-1, 0, 1) for b in (-1, 0, 1) for c in (-1, 0, 1)]
HALF = _STEPS[14:]  # one of each two opposite neighbours
NEARLY, MOST_LATE = 0.97, 200  # of the last time; spots told


@dataclass(frozen=True, eq=False)
class Pool:
    """Liquid cut off. ``at`` (3,) mm where it froze last, ``last`` when, ``cut`` when it lost its feed
    (0: it never had one), s; ``gate`` (3,) mm the place that froze then, None without; ``volume`` mm3
    of it at that time; ``gate_added`` whether that place is a rod's; ``late_at`` (k, 3) mm spots that froze
    as late as the last, nearly."""

    at: Floats
    last: float
    cut: float
    gate: Floats | None
    volume: float
    gate_added: bool
    late_at: Floats

    @property
    def late(self) -> float:
        """How much later than its feed it froze, as a share of its own time."""
        return (self.last - self.cut) / max(self.last, 1e-12)


def pools(frozen: Frozen, feeds: Sequence[Floats] = ()) -> list[Pool]:
    """Every pool cut off, worst first. ``feeds`` (3,) mm stay liquid: the far ends of sprues."""
    grid, metal = frozen.grid, frozen.metal
    cells = np.argwhere(metal)
    if not len(cells):
        return []
    times = smoothed(frozen)[metal]
    number = np.full(grid.shape, -1, dtype=np.int64)
    number[metal] = np.arange(len(cells))
    fed = _numbers(feeds, frozen, number)
    times[fed] = 2 * times.max()  # they are liquid for good
    rank = np.empty(len(cells), dtype=np.int64)
    rank[np.argsort(times, kind="stable")] = np.arange(len(cells))
    one, two = _pairs(number)
    basin = _basins(rank, one, two)
    rods = (grid.added > 0.5 * grid.share)[metal]
    volumes = ((grid.share - grid.added) * grid.volumes)[metal]
    found = []
    for last, cut, members, gate in _cut_off(times, rank, basin, one, two, set(basin[fed].tolist())):
        mine = np.isin(basin, members) & (times > cut)
        late = cells[mine & (times >= NEARLY * times[last])]
        found.append(
            Pool(
                grid.middle(cells[last]), float(times[last]), cut,
                None if gate is None else grid.middle(cells[gate]), float(volumes[mine].sum()),
                gate is not None and bool(rods[gate]), grid.middle(late[:: 1 + len(late) // MOST_LATE]),
            )
        )  # fmt: skip
    return sorted(found, key=lambda pool: (-pool.late * pool.volume, pool.last))


def smoothed(frozen: Frozen) -> Floats:
    """Times without the steps of the cells: twice the mean over a cell and its neighbours of metal."""
    metal = frozen.metal
    times = np.where(metal, frozen.solid, 0.0)
    for _ in range(2):
        total, count = times, metal.astype(float)
        for axis in range(3):
            total, count = _three(total, axis), _three(count, axis)
        times = np.where(metal, total / np.maximum(count, 1.0), 0.0)
    return times


def _three(values: Floats, axis: int) -> Floats:
    """The sum of each cell and its two neighbours along an axis."""
    line = np.moveaxis(np.pad(values, [(int(k == axis),) * 2 for k in range(3)]), axis, 0)
    return np.moveaxis(line[1:-1] + line[:-2] + line[2:], 0, axis)


def _pairs(number: Ints) -> tuple[Ints, Ints]:
    """Neighbours, corners included, as two lists of cells by number."""
    ones, twos = [], []
    for step in HALF:
        here = tuple(slice(max(0, -s), number.shape[k] - max(0, s)) for k, s in enumerate(step))
        there = tuple(slice(max(0, s), number.shape[k] - max(0, -s)) for k, s in enumerate(step))
        a, b = number[here], number[there]
        both = (a >= 0) & (b >= 0)
        ones.append(a[both])
        twos.append(b[both])
    return np.concatenate(ones), np.concatenate(twos)


def _basins(rank: Ints, one: Ints, two: Ints) -> Ints:
    """For each cell the cell that froze last up from it, from neighbour to later neighbour."""
    best = rank.copy()
    np.maximum.at(best, one, rank[two])
    np.maximum.at(best, two, rank[one])
    cell = np.empty(len(rank), dtype=np.int64)
    cell[rank] = np.arange(len(rank))
    up = cell[best]
    while True:
        further = up[up]
        if (further == up).all():
            return np.asarray(up)
        up = further


def _numbers(feeds: Sequence[Floats], frozen: Frozen, number: Ints) -> Ints:
    """The cells of metal that feeds lie in, by number."""
    if not len(feeds):
        return np.zeros(0, dtype=np.int64)
    at = frozen.grid.index(np.array(feeds))
    found = number[at[:, 0], at[:, 1], at[:, 2]]
    return np.asarray(found[found >= 0])


def _cut_off(
    times: Floats, rank: Ints, basin: Ints, one: Ints, two: Ints, fed: set[int]
) -> Iterator[tuple[int, float, list[int], int | None]]:
    """(last cell, time cut, basins it is made of, the cell where it was cut off) of each pool."""
    members = {int(top): [int(top)] for top in np.unique(basin)}
    root = {top: top for top in members}
    alive = {top: top in fed for top in members}
    for low, a, b in _passes(rank, basin, one, two):
        one_root, two_root = _top(root, a), _top(root, b)
        if one_root == two_root:
            continue
        # The elder goes on: what is fed, or froze later.
        young, old = sorted((one_root, two_root), key=lambda top: (alive[top], rank[top]))
        if not alive[young]:
            yield young, float(times[low]), list(members[young]), low
        root[young] = old
        members[old] += members.pop(young)
        alive[old] |= alive[young]
    for top in members:
        if not alive[top]:
            yield top, 0.0, members[top], None


def _passes(rank: Ints, basin: Ints, one: Ints, two: Ints) -> Iterator[tuple[int, int, int]]:
    """(cell, basin, basin) where two basins meet last, the last meeting first."""
    apart = basin[one] != basin[two]
    one, two = one[apart], two[apart]
    low = np.where(rank[one] < rank[two], one, two)
    order = np.argsort(-rank[low], kind="stable")
    pair = np.sort(np.stack((basin[one], basin[two])), axis=0)[:, order]
    _, first = np.unique(pair, axis=1, return_index=True) if pair.size else (None, np.array([], dtype=int))
    for place in np.sort(first).tolist():
        yield int(low[order[place]]), int(pair[0, place]), int(pair[1, place])


def _top(root: dict[int, int], one: int) -> int:
    while root[one] != one:
        root[one] = root[root[one]]
        one = root[one]
    return one


def reached(frozen: Frozen, feeds: Sequence[Floats]) -> Floats:
    """How far metal runs from the feeds to each cell, mm, through metal; inf where it never comes."""
    grid, metal = frozen.grid, frozen.metal
    number = np.full(grid.shape, -1, dtype=np.int64)
    number[metal] = np.arange(int(metal.sum()))
    one, two = _pairs(number)
    cells = np.argwhere(metal)
    length = np.linalg.norm(cells[one] - cells[two], axis=1) * grid.pitch
    start, end = np.concatenate((one, two)), np.concatenate((two, one))
    length = np.concatenate((length, length))
    far = np.full(len(cells), np.inf)
    far[_numbers(feeds, frozen, number)] = 0.0
    while True:
        nearer = far.copy()
        np.minimum.at(nearer, end, far[start] + length)
        if np.array_equal(nearer, far):
            break
        far = nearer
    found = np.full(grid.shape, np.inf)
    found[metal] = far
    return found
