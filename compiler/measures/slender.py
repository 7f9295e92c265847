"""Slender parts: long thin wires, which cast badly and bend, told by length over thickness.

Method. From points on the skin the metal is measured straight in; from the middle of that measure four lines
square to it are tried. The middles are gathered in cells; where the thickest of a cell is thin both ways it
is wire, not sheet or the rim of sheet. Cells of wire that touch are joined to a centre line, and the length
is the longest of the shortest ways along it (two passes of a path search). So a closed loop counts as half
its length: it is held at both ends.

The thickness at a place of the line is the largest ball in the metal about it; that of the line is its
median, sought to about 1 %.

Error. Length to about one thickness at each end; thickness up to 1/cos(pi/n) over for a wire of n facets."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Floats, Ints, frame_of, length, place_of
from .labels import groups, lattice
from .rays import centred, room_at, spots_on, straight_in
from .skin import Skin

MOST_SPOTS = 6_000
TRIED = 12  # middles of a cell about which a ball is tried
FEW = 5  # cells about as thick as most, in which the largest ball is sought
STEP, FINE, WAYS = 0.12, 0.05, 8  # of the thickness, the first step of a ball; of that, the last
FACING = 0.3  # cosine of the way in to that out of the face it ends at
ASLANT = 0.9  # cosine likewise, less than which is told from a facet's own turn
FLAT = 2.5
"""A strip wider than this many thicknesses is sheet."""


@dataclass(frozen=True)
class Slender:
    """A slender part: length and usual thickness in mm, their ratio, its two ends, the place of the
    thinnest, and the feature that most of it belongs to."""

    length: float
    thickness: float
    ratio: float
    ends: tuple[tuple[float, float, float], tuple[float, float, float]]
    at: tuple[float, float, float]
    owner: int


Tied = Callable[[Floats], Flags]
"""Given middles of wire (k, 3) mm: is the wire tied to other metal there?"""


def slender(skin: Skin, thin: float, ratio: float = 10.0, tied: Tied | None = None) -> list[Slender]:
    """Parts thinner than `thin` mm, longer than `ratio` times their thickness; worst first.

    Where `tied` says so a wire ends: only its free lengths are told, as thick as all of it there."""
    middle, thick, inward, owner, square = _thin(skin, thin)
    if not len(thick):
        return []
    # Straight in at a corner the way ends at its other side, not at the far face.
    wire = _wire(skin, thin, middle, thick, inward, square) & (square > FACING)
    middle, thick, owner = middle[wire], thick[wire], owner[wire]
    free = np.ones(len(middle), dtype=bool) if tied is None else ~tied(middle)
    if not free.any():
        return []
    member, one, two = lattice(middle, thin, owner + 1)
    count = int(member.max()) + 1
    sums = np.stack([np.bincount(member[free], middle[free, k], count) for k in range(3)], axis=1)
    many = np.bincount(member[free], minlength=count)[:, None]
    nodes, loose = sums / np.maximum(many, 1), many[:, 0] > 0
    one, two = (ends[loose[one] & loose[two]] for ends in (one, two))
    linked = _in_metal(skin, nodes[one], nodes[two])  # cells of two wires may touch across a gap
    one, two = one[linked], two[linked]
    sizes, homes = _balls(skin, middle, thick, member, count)
    along = np.zeros((count, 3))
    along[one] = along[two] = nodes[two] - nodes[one]
    fullest = _fullest(one, two, sizes)
    sizes, homes, along = sizes[fullest], homes[fullest], along[fullest]
    part = groups(count, one, two)
    ways = length(nodes[one] - nodes[two])
    found = []
    for number in range(int(part.max()) + 1):
        mine = np.flatnonzero(part == number)
        far, a, b = _longest(mine, one, two, ways, part == number)
        some = np.flatnonzero(part[member] == number)
        order = mine[np.argsort(sizes[mine], kind="stable")]
        few = order[max(0, (len(order) - FEW) // 2) :][:FEW]
        if far < (ratio - 1) * sizes[few[0]]:
            continue
        step = STEP * float(sizes[few[-1]])
        size = 2 * float(np.median(centred(skin, homes[few], along[few], step, FINE * step, WAYS)[1]))
        total = far + size
        if total >= ratio * size:
            names, votes = np.unique(owner[some], return_counts=True)
            ends = (place_of(nodes[a]), place_of(nodes[b]))
            who = int(names[np.argmax(votes)])
            found.append(Slender(total, size, total / size, ends, place_of(nodes[order[0]]), who))
    return sorted(found, key=lambda item: (-item.ratio, item.at))


def _fullest(one: Ints, two: Ints, sizes: Floats) -> Ints:
    """For each cell itself; at the end of a wire, which cuts the ball about it short, the cell before it."""
    single = np.bincount(np.concatenate((one, two)), minlength=len(sizes)) <= 1
    fullest = np.arange(len(sizes))
    for end, before in ((one, two), (two, one)):
        cut_short = single[end] & (sizes[before] > sizes[end])
        fullest[end[cut_short]] = before[cut_short]
    return fullest


def _balls(skin: Skin, middle: Floats, thick: Floats, member: Ints, count: int) -> tuple[Floats, Floats]:
    """For each cell the largest ball about some of its middles: its diameter, mm, and its middle."""
    order = np.argsort(member, kind="stable")
    cell = member[order]
    first, size = np.searchsorted(cell, cell), np.bincount(member)[cell]
    some = order[(np.arange(len(order)) - first) % np.maximum(size // TRIED, 1) == 0]
    balls = 2 * room_at(skin, middle[some], 0.5 * thick[some] + 1e-6)
    best = np.lexsort((-balls, member[some]))
    best = best[np.searchsorted(member[some][best], np.arange(count))]
    return balls[best], middle[some[best]]


def _wire(skin: Skin, thin: float, middle: Floats, thick: Floats, inward: Floats, square: Floats) -> Flags:
    """Which middles are in cells of wire: the thickest of the cell is thin both ways, and no
    sheet that is thicker touches the cell. In from a rounded edge the way ends aslant: what is measured
    so is thicker than the metal."""
    member, one, two = lattice(middle, thin)
    order = np.lexsort((thick, member))
    last = order[np.r_[np.flatnonzero(np.diff(member[order])), len(order) - 1]]
    most = thick[last]
    narrow = _measure_across(skin, middle[last], inward[last], FLAT * thin) < FLAT * most
    wire, straight = narrow.copy(), most * np.where(square[last] < ASLANT, square[last], 1.0)
    for here, there in ((one, two), (two, one)):
        rim = wire[here] & ~narrow[there] & (most[there] > straight[here])
        wire[here[rim]] = False
    return np.asarray(wire[member])


def _thin(skin: Skin, thin: float) -> tuple[Floats, Floats, Floats, Ints, Floats]:
    """Middles (n, 3) of metal thinner than `thin`, its thickness, the way through it, its feature, and the
    cosine of that way to the one out of the face it ends at."""
    spots = spots_on(skin, thin / 4, MOST_SPOTS)
    far, met, square = straight_in(skin, spots, thin)
    keep = np.flatnonzero((met >= 0) & (far < thin))
    at = spots.at[keep] + 0.5 * far[keep, None] * spots.inward[keep]
    return at, far[keep], spots.inward[keep], skin.owner[spots.triangle[keep]], square[keep]


def _measure_across(skin: Skin, at: Floats, inward: Floats, reach: float) -> Floats:
    """The least measure of metal square to a way through it, mm; inf where over `reach`."""
    one, two = frame_of(inward)
    turn = np.radians([[[0.0]], [[45.0]], [[90.0]], [[135.0]]])
    way = (np.cos(turn) * one + np.sin(turn) * two).reshape(-1, 3)
    start = np.tile(at, (4, 1))
    across = skin.grid.cast(start, way, reach=reach)[0]
    some = np.flatnonzero(np.isfinite(across))
    across[some] += skin.grid.cast(start[some], -way[some], reach=reach)[0]
    return np.asarray(across.reshape(4, -1).min(axis=0))


def _in_metal(skin: Skin, start: Floats, end: Floats) -> Flags:
    """Whether the straight way from each start (n, 3) in metal to its end leaves the metal nowhere."""
    way = end - start
    far = np.maximum(length(way), 1e-9)
    reach = float(far.max(initial=0.0))
    return np.asarray(skin.grid.cast(start, way / far[:, None], reach=reach)[0] >= far)


def _longest(mine: Ints, one: Ints, two: Ints, ways: Floats, inside: Floats) -> tuple[float, int, int]:
    """The longest of the shortest ways between cells of one part: (mm, from, to)."""
    links: dict[int, list[tuple[int, float]]] = {int(node): [] for node in mine}
    for k in np.flatnonzero(inside[one] > 0).tolist():
        a, b, way = int(one[k]), int(two[k]), float(ways[k])
        links[a].append((b, way))
        links[b].append((a, way))
    start = int(mine[0])
    for _ in range(2):
        end, _ = _farthest(links, start)
        start, end = end, start
    end, far = _farthest(links, start)
    return far, start, end


def _farthest(links: dict[int, list[tuple[int, float]]], start: int) -> tuple[int, float]:
    """The node farthest along the links, and how far (Dijkstra)."""
    done: dict[int, float] = {}
    heap = [(0.0, start)]
    last, far = start, 0.0
    while heap:
        so_far, node = heapq.heappop(heap)
        if node in done:
            continue
        done[node] = so_far
        last, far = node, so_far
        for other, way in links[node]:
            if other not in done:
                heapq.heappush(heap, (so_far + way, other))
    return last, far
