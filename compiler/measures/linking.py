"""Whether closed wires link with other bodies, as the rings of a chain do.

A ring is spanned by a fan of triangles over its centre line, like the skin of a drum. A body that shares no
metal with the ring meets the drum skin only where it goes through. Walk along the edges of its mesh and count
goings-through, forward less backward: where some closed walk does not come out at nought, the two cannot be
taken apart (their linking number; Gauss 1833). Where every walk does, the body goes in and out again, or ends
behind the skin, as a rod put through a ring does."""

from __future__ import annotations

import numpy as np

from .kinds import Floats, Ints, cross, dot, length
from .labels import groups
from .skin import Skin

# Off the planes of symmetry that pieces are full of, where a going-through would be missed or counted
# twice: the centre line as a whole by this share of its size, the middle of the drum skin by this.
ASIDE = np.array([1.3e-5, 1.7e-5, 2.3e-5])
MIDDLE = np.array([0.0137, 0.0171, 0.0233])

APART, PASSED, THREADED, LINKED = range(4)
ROOM = 2_000_000
"""Pairs of an edge and a triangle of the drum skin looked at at a time."""


def linked(ring: Floats, body: Skin) -> int:
    """How a closed centre line ``ring`` (n, 3) of one body goes with another ``body``: LINKED for good;
    THREADED, the body runs through it and reaches on by more than the ring's half width on both
    sides, but has an end to slip off; PASSED, it goes through and back again; or APART."""
    size = float(length(ring - ring.mean(axis=0)).max())
    line = ring + ASIDE * size
    middle = line.mean(axis=0) + MIDDLE * size
    start, end, way = _crossed(body, line, middle)
    if not len(start):
        return APART
    if _turns(len(body.points), body.sides, start, end, way):
        return LINKED
    axis = cross(line - middle, np.roll(line, -1, axis=0) - middle).sum(axis=0)
    height = (body.points[np.unique(body.triangles)] - middle) @ (axis / float(length(axis)))
    return THREADED if height.max() > size and height.min() < -size else PASSED


def _crossed(body: Skin, line: Floats, middle: Floats) -> tuple[Ints, Ints, Ints]:
    """The edges that go through the drum skin: first and last point, and forward (1) or back (-1)."""
    low = np.minimum(line.min(axis=0), middle)
    high = np.maximum(line.max(axis=0), middle)
    beyond = (body.points < low) @ (1, 2, 4) + (body.points > high) @ (8, 16, 32)
    edges = body.sides[(beyond[body.sides[:, 0]] & beyond[body.sides[:, 1]]) == 0]
    one, two = body.points[edges[:, 0]], body.points[edges[:, 1]]
    one, go = one - middle, two - one
    total = np.zeros(len(edges), dtype=np.int64)
    first, second = line - middle, np.roll(line, -1, axis=0) - middle
    face = cross(first, second)
    points, end = np.unique(edges, return_inverse=True)
    end = end.reshape(edges.shape)
    for some in np.array_split(np.arange(len(line)), 1 + len(edges) * len(line) // ROOM):
        above = (body.points[points] - middle) @ face[some].T > 0
        edge, fan = np.nonzero(above[end[:, 0]] != above[end[:, 1]])
        fan = some[fan]
        n, square = face[fan], dot(face[fan], face[fan])
        slope = dot(go[edge], n)
        at = one[edge] - (dot(one[edge], n) / slope)[:, None] * go[edge]
        a, b = dot(at, cross(second[fan], n)) / square, dot(at, cross(n, first[fan])) / square
        hit = (a >= 0) & (b >= 0) & (a + b < 1)
        np.add.at(total, edge[hit], np.sign(slope[hit]).astype(np.int64))
    met = total != 0
    return edges[met, 0], edges[met, 1], total[met]


def _turns(count: int, edges: Ints, start: Ints, end: Ints, way: Ints) -> bool:
    """Whether some closed walk along the edges goes through more often one way than the other."""
    through = np.isin(edges[:, 0] * count + edges[:, 1], start * count + end)
    quiet = edges[~through]
    island = groups(count, quiet[:, 0], quiet[:, 1])
    known: dict[int, int] = {}
    beside: dict[int, list[tuple[int, int]]] = {}
    for a, b, step in zip(island[start].tolist(), island[end].tolist(), way.tolist(), strict=True):
        beside.setdefault(a, []).append((b, step))
        beside.setdefault(b, []).append((a, -step))
    for root in beside:
        waiting = [] if root in known else [root]
        known.setdefault(root, 0)
        while waiting:
            here = waiting.pop()
            for there, step in beside[here]:
                if there not in known:
                    known[there] = known[here] + step
                    waiting.append(there)
                elif known[there] != known[here] + step:
                    return True
    return False
