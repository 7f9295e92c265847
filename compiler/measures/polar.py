"""Metal met going straight out from an axis, or straight down along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Floats, Ints, spread
from .section import cuts


@dataclass(frozen=True, eq=False)
class Crossings:
    """Where lines pass the skin, sorted by line and then by distance.

    line (n,), far (n,) mm along the line, leaving (n,) going out of metal rather than into it, square (n,)
    cosine between line and face, face (n,) index of the triangle given."""

    line: Ints
    far: Floats
    leaving: Flags
    square: Floats
    face: Ints

    def part(self, first: int, last: int) -> Crossings:
        """Those of the lines from `first` up to `last`, numbered from 0."""
        a, b = np.searchsorted(self.line, [first, last])
        return Crossings(
            self.line[a:b] - first, self.far[a:b], self.leaving[a:b], self.square[a:b], self.face[a:b]
        )

    def last_before(self, limit: Floats) -> Ints:
        """For each line the index of its last crossing at or before a distance, -1 for none."""
        found = np.full(len(limit), -1, dtype=np.int64)
        some = np.flatnonzero(self.far <= limit[self.line])
        found[self.line[some]] = some
        return found

    def first_after(self, limit: Floats) -> Ints:
        """For each line the index of its first crossing past a distance, -1 for none."""
        found = np.full(len(limit), -1, dtype=np.int64)
        some = np.flatnonzero(self.far > limit[self.line])[::-1]
        found[self.line[some]] = some
        return found

    def innermost(self, count: int) -> tuple[Ints, Floats, Flags]:
        """For each of ``count`` lines the index of its first crossing (-1: none), how far along that is (inf:
        none), and whether it goes into metal."""
        first = self.first_after(np.full(count, -1.0))
        enters = (first >= 0) & ~np.append(self.leaving, True)[first]
        return first, np.append(self.far, np.inf)[first], enters

    def within_metal(self, at: Floats) -> Flags:
        """Is each line in metal at a distance? Told from the nearest crossing."""
        before, after = self.last_before(at), self.first_after(at)
        inside = (before >= 0) & ~self.leaving[before] if len(self.far) else before >= 0
        if len(self.far):
            inside |= (before < 0) & (after >= 0) & self.leaving[after]
        return np.asarray(inside)


def outward(
    corners: Floats, heights: Floats, count: int, row: Ints | None = None, rows: int = 1
) -> Crossings:
    """Lines straight out from the z axis at heights (k,), `count` to the turn.

    Line number is height number * count + direction number; direction j is at 360 j/count deg. With `row`
    (m,) the triangles are those of several things, each about an axis of its own, and heights are (k, m);
    line number is then (height number * rows + row) * count + direction."""
    of = row
    start, end, level, face = cuts(corners, heights)
    step = 2 * np.pi / count
    a, b = np.arctan2(start[:, 1], start[:, 0]), np.arctan2(end[:, 1], end[:, 0])
    span = (b - a + np.pi) % (2 * np.pi) - np.pi
    low = np.where(span >= 0, a, a + span)
    first = np.ceil(low / step).astype(np.int64)
    counts = np.maximum(np.floor((low + np.abs(span)) / step).astype(np.int64) - first + 1, 0)
    row, number = spread(counts, first)
    way = np.stack((np.cos(number * step), np.sin(number * step)), axis=1)
    side = end[row] - start[row]
    top = start[row, 0] * side[:, 1] - start[row, 1] * side[:, 0]
    low_part = way[:, 0] * side[:, 1] - way[:, 1] * side[:, 0]
    far = top / np.where(low_part == 0, np.inf, low_part)
    turn = level if of is None else level * rows + of[face]
    line = turn[row] * count + number % count
    square = np.abs(low_part) / np.maximum(np.hypot(side[:, 0], side[:, 1]), 1e-300)
    # Metal lies on the left of a cut: turning counter-clockwise, on the side of the axis.
    order = np.lexsort((far, line))
    return Crossings(line[order], far[order], (span[row] > 0)[order], square[order], face[row][order])
