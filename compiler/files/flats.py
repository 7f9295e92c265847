"""Triangles without area: three points on one line, once they stand on the grid of the files.

Such a triangle closes the mesh as well as any, yet it has no normal, and readers drop it and then
find a slit. Its longest side is shared with a neighbour: turning that side, so that it joins the middle
one of the three points with the neighbour's far corner, leaves two triangles that both have area."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

ROUNDS = 6


def flat_ones(points: np.ndarray, triangles: np.ndarray, grid: float) -> np.ndarray:
    """The numbers of triangles whose area is less than a quarter of a cell of the ``grid``, mm: on it
    none can have less than half a cell but nought."""
    # Column by column: rows of three are slow.
    along, across = (
        [column[end] - column[triangles[:, 0]] for column in points.T.astype(np.float64)]
        for end in (triangles[:, 1], triangles[:, 2])
    )
    double = np.zeros(len(triangles))
    for k in range(3):
        double += (along[k - 2] * across[k - 1] - along[k - 1] * across[k - 2]) ** 2
    return np.flatnonzero(double < (grid * grid / 2) ** 2)


def turned(
    points: np.ndarray, triangles: np.ndarray, owner: np.ndarray, grid: float
) -> tuple[np.ndarray, np.ndarray]:
    """Triangles and owners, the longest side of each flat one turned unless that is a side already."""
    for _ in range(ROUNDS):
        flat = flat_ones(points, triangles, grid)
        if not len(flat):
            break
        triangles, owner = triangles.copy(), owner.copy()
        near = np.flatnonzero(np.isin(triangles, triangles[flat]).any(axis=1))
        sides = {side: int(k) for k in near for side in _sides(triangles[k])}
        done = False
        for k in flat.tolist():
            done |= _turn(points, triangles, owner, sides, k)
        if not done:
            break
    return triangles, owner


def _turn(
    points: np.ndarray, triangles: np.ndarray, owner: np.ndarray, sides: dict[tuple[int, int], int],
    flat: int,
) -> bool:
    """Turn the longest side of one triangle, if that is allowed."""
    corners = triangles[flat]
    ends = points[corners].astype(np.float64)
    first = int(np.argmax(((np.roll(ends, -1, axis=0) - ends) ** 2).sum(axis=1)))
    a, b, c = (int(corners[(first + k) % 3]) for k in range(3))
    beside = sides.get((b, a))
    if beside is None or sides.get((a, b)) != flat:
        return False
    d = int(next((one for one in triangles[beside] if one not in (a, b)), c))
    if d == c or (c, d) in sides or (d, c) in sides:
        return False
    for side in (*_sides(triangles[flat]), *_sides(triangles[beside])):
        sides.pop(side, None)
    triangles[flat], triangles[beside] = (c, a, d), (d, b, c)
    owner[flat] = owner[beside]
    for k in (flat, beside):
        sides.update((side, k) for side in _sides(triangles[k]))
    return True


def _sides(triangle: np.ndarray) -> Iterator[tuple[int, int]]:
    a, b, c = triangle.tolist()
    yield from ((a, b), (b, c), (c, a))
