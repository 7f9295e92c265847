"""Cross-sections: area and place of each island of metal in a plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import Floats, Ints, Solid, frame_of, unit


@dataclass(frozen=True)
class Section:
    """One island of metal in a plane: area mm2 (its holes taken out) and its centre (3,) mm."""

    area: float
    centre: tuple[float, float, float]


def sections(solid: Solid, origin: Floats, normal: Floats) -> list[Section]:
    """The islands of metal where a plane cuts a solid, largest first. Exact for the mesh.

    A face that lies just in the plane counts as cut when the metal is on the `normal` side."""
    way = unit(np.asarray(normal, dtype=float))
    one, two = frame_of(way)
    turn = np.stack((one, two, way))
    start = np.asarray(origin, dtype=float)
    placed = solid.transform(np.concatenate((turn, -(turn @ start)[:, None]), axis=1))
    found = []
    for island in placed.slice(0.0).decompose():
        area, x, y = _moments(island.to_polygons())
        if area > 0:
            at = start + (x / area) * one + (y / area) * two
            found.append(Section(area, (float(at[0]), float(at[1]), float(at[2]))))
    return sorted(found, key=lambda part: (-part.area, part.centre))


def _moments(polygons: list[Floats]) -> tuple[float, float, float]:
    """Area and first moments of polygons, holes turning the other way."""
    total = np.zeros(3)
    for polygon in polygons:
        x, y = np.asarray(polygon, dtype=float).T
        u, v = np.roll(x, -1), np.roll(y, -1)
        turn = x * v - u * y
        total += [turn.sum() / 2, ((x + u) * turn).sum() / 6, ((y + v) * turn).sum() / 6]
    return float(total[0]), float(total[1]), float(total[2])


def cuts(corners: Floats, heights: Floats) -> tuple[Floats, Floats, Ints, Ints]:
    """Segments where triangles (m, 3, 3) cross the planes z = heights (k,), or, for planes of each triangle's
    own, (k, m).

    Returns (start (s, 2), end (s, 2), height number (s,), triangle (s,)), each with the metal on its left
    when seen from above. A corner just in a plane counts as above."""
    heights = np.broadcast_to(heights.reshape(len(heights), -1), (len(heights), len(corners)))
    above = [np.ascontiguousarray(corners[:, k, 2])[None] >= heights for k in range(3)]
    count = above[0].astype(np.int8) + above[1] + above[2]
    level, face = np.nonzero((count == 1) | (count == 2))
    height, count = heights[level, face], count[level, face]
    single = count == 1
    # The corner that is alone on its side of the plane.
    lone = np.where(above[0][level, face] == single, 0, np.where(above[1][level, face] == single, 1, 2))
    spots, first = corners.reshape(-1, 3), 3 * face
    tip = np.take(spots, first + lone, axis=0)
    one = _cross_at(tip, np.take(spots, first + (lone + 1) % 3, axis=0), height)
    two = _cross_at(tip, np.take(spots, first + (lone + 2) % 3, axis=0), height)
    swap = single[:, None]
    start, end = np.where(swap, one, two), np.where(swap, two, one)
    return start, end, level.astype(np.int64), face.astype(np.int64)


def _cross_at(a: Floats, b: Floats, height: Floats) -> Floats:
    """Where the way from a to b passes a height, (s, 2)."""
    t = (height - a[:, 2]) / (b[:, 2] - a[:, 2])
    return np.asarray(a[:, :2] + t[:, None] * (b[:, :2] - a[:, :2]))
