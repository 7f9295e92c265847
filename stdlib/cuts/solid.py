"""Closed facet meshes, and the cutting of one by planes as a lap does it.

A stone is what is left of a block after every facet plane has been cut. Points nearer to
a plane than EPS count as lying on it, so facets that should meet in one point do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from .parts import Proportions, Size

EPS = 1e-9  # on stones of unit width; planes of a cut are exact to about 1e-15
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Plane:
    """A facet's plane: the stone lies where normal . point <= offset (unit normal)."""

    name: str
    normal: Vector
    offset: float


@dataclass(frozen=True, eq=False)
class Facets:
    """A closed facet mesh in mm, in the stone's own frame.

    The origin is the middle of length and width at mid girdle (cabochon: on the flat
    back; pearl: the centre); +z points to the table, length runs along x, width along y.

    points: (n, 3) float64, mm. faces: planar convex polygons of point numbers,
    counter-clockwise seen from outside. names: the trade name of each face."""

    points: np.ndarray
    faces: tuple[tuple[int, ...], ...]
    names: tuple[str, ...]

    def triangles(self) -> np.ndarray:
        """(m, 3) int64: each face as a fan from its first corner, in face order."""
        fans = [(face[0], face[k], face[k + 1]) for face in self.faces for k in range(1, len(face) - 1)]
        return np.array(fans, dtype=np.int64).reshape(-1, 3)

    def volume(self) -> float:
        """Volume in mm3 (divergence theorem over the triangles)."""
        a, b, c = (self.points[self.triangles()[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)

    def scaled(self, along: float, across: float) -> Facets:
        """The same stone, its length along times, its width and height across times."""
        return _sealed(self.points * (along, across, across), self.faces, self.names)


def _sealed(points: np.ndarray, faces: Iterable[Sequence[int]], names: Iterable[str]) -> Facets:
    """A Facets whose points nobody can write to (it is shared through a cache)."""
    points = np.ascontiguousarray(points, dtype=np.float64)
    points.setflags(write=False)
    return Facets(points, tuple(tuple(f) for f in faces), tuple(names))


def slab(rim: np.ndarray, size: Size, p: Proportions) -> Facets:
    """A flat stone over any ``rim`` (n, 2); its bevel is as wide as high at its ends and sides."""
    wall, bevel = p.girdle * size.width, p.crown * size.width
    n, taken = len(rim), 2 * bevel
    inner = rim * (1 - taken / size.length, 1 - taken / size.width)
    rings = [(rim, 0.0), (rim, wall), *([(inner, wall + bevel)] if bevel > 0 else [])]
    points = np.vstack([np.column_stack([ring, np.full(n, z)]) for ring, z in rings])
    around = [(i, (i + 1) % n) for i in range(n)]
    faces: list[tuple[int, ...]] = [tuple(range(n - 1, -1, -1))]
    faces += [(i, j, n + j, n + i) for i, j in around]
    names = ["back", *["girdle"] * n]
    if bevel > 0:  # drawn in unlike ways along and across, so no quad of it is flat
        faces += [(n + i, n + j, 2 * n + j) for i, j in around]
        faces += [(n + i, 2 * n + j, 2 * n + i) for i, j in around]
        names += ["bevel"] * (2 * n)
    top = (len(rings) - 1) * n
    return Facets(points, (*faces, tuple(range(top, top + n))), (*names, "table"))


def hubbed(stone: Facets, centre: np.ndarray) -> Facets:
    """The same stone, its level faces that are hollow somewhere parted into fans about ``centre`` (2,)."""
    points, faces, names = list(stone.points), [], []
    for face, name in zip(stone.faces, stone.names, strict=True):
        corner = stone.points[list(face)]
        into, out = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
        turn = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
        if len(face) < 5 or np.ptp(corner[:, 2]) > EPS or turn.min() * turn.max() >= -EPS**2:
            faces.append(face)
            names.append(name)
            continue
        faces += [(i, j, len(points)) for i, j in zip(face, (*face[1:], face[0]), strict=True)]
        names += [name] * len(face)
        points.append(np.array([*centre, corner[0, 2]]))
    return Facets(np.array(points), tuple(faces), tuple(names))


def plane_through(name: str, a: Vector, b: Vector, c: Vector, inside: Vector) -> Plane:
    """The plane through three points, facing away from the point inside.

    Raises ValueError when the three points are in line or inside lies on the plane."""
    u = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    v = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    n = u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]
    size = (n[0] ** 2 + n[1] ** 2 + n[2] ** 2) ** 0.5
    if size < 1e-14:
        raise ValueError(f"facet {name}: its three points are in line")
    n = n[0] / size, n[1] / size, n[2] / size
    offset = n[0] * a[0] + n[1] * a[1] + n[2] * a[2]
    side = n[0] * inside[0] + n[1] * inside[1] + n[2] * inside[2] - offset
    if abs(side) < EPS:
        raise ValueError(f"facet {name}: its plane runs through the inside point")
    if side > 0:
        return Plane(name, (-n[0], -n[1], -n[2]), -offset)
    return Plane(name, n, offset)


def from_planes(planes: Iterable[Plane], reach: float) -> Facets:
    """The convex stone inside all planes; reach (mm) is half the block it is cut from.

    Raises ValueError when nothing is left or a side of the block was never cut."""
    block = _Block(reach)
    for plane in planes:
        block.cut(plane)
    return block.finish()


def weld(parts: Sequence[Facets]) -> Facets:
    """One mesh from several that share points (rounded to EPS), in the order given."""
    index: dict[Vector, int] = {}
    points: list[Vector] = []
    faces: list[list[int]] = []
    for part in parts:
        numbers = []
        for p in part.points:
            key = tuple(np.round(p / EPS) + 0.0)
            if key not in index:
                index[key] = len(points)
                points.append(tuple(p))
            numbers.append(index[key])
        faces.extend([numbers[k] for k in face] for face in part.faces)
    return _sealed(np.array(points), faces, [n for part in parts for n in part.names])


class _Block:
    """A convex solid under the cutter: points, and one loop of point numbers per face."""

    def __init__(self, reach: float) -> None:
        """Start from a cube of side 2 x reach."""
        r = reach
        self.points: list[Vector] = [(x, y, z) for x in (-r, r) for y in (-r, r) for z in (-r, r)]
        self.live = list(range(8))  # numbers of the points still on the stone
        self.faces: list[list[int]] = [
            [0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3],
        ]  # fmt: skip
        self.names: list[str] = [""] * 6

    def cut(self, plane: Plane) -> None:
        """Remove what lies outside the plane and close the stone with a new face."""
        (a, b, c), d = plane.normal, plane.offset
        height = {}
        for k in self.live:
            x, y, z = self.points[k]
            height[k] = a * x + b * y + c * z - d
        out = {k for k, h in height.items() if h > EPS}
        if not out:
            return
        near = out | {k for k, h in height.items() if h >= -EPS}
        self._height = height
        self._split: dict[tuple[int, int], int] = {}
        follow: dict[int, int] = {}  # the rim of the cut: point -> next point on the new face
        faces, names = [], []
        for face, name in zip(self.faces, self.names, strict=True):
            if not near.isdisjoint(face):
                face = self._clip(face, follow)
            if face:
                faces.append(face)
                names.append(name)
        loop = _walk(follow)
        self.faces, self.names = [*faces, loop], [*names, plane.name]
        self.live = sorted({k for face in self.faces for k in face})

    def _clip(self, face: list[int], follow: dict[int, int]) -> list[int]:
        """The part of a face under the plane; its new edge goes to follow, turned round."""
        height = self._height
        kept: list[int] = []
        rim: list[int] = []
        for k, after in zip(face, face[1:] + face[:1], strict=True):
            h, g = height[k], height[after]
            if h <= EPS:
                kept.append(k)
                if h >= -EPS:
                    rim.append(len(kept) - 1)
            if (h > EPS and g < -EPS) or (h < -EPS and g > EPS):
                kept.append(self._between(min(k, after), max(k, after)))
                rim.append(len(kept) - 1)
        if len(kept) == len(rim):
            return []  # nothing of it lies under the plane
        if len(rim) == 2:
            first, last = rim
            if last == first + 1:
                follow[kept[last]] = kept[first]
            elif first == 0 and last == len(kept) - 1:
                follow[kept[first]] = kept[last]
        return kept

    def _between(self, i: int, j: int) -> int:
        """The point where edge i-j crosses the plane, made once for both its faces."""
        if (i, j) not in self._split:
            p, q = self.points[i], self.points[j]
            t = self._height[i] / (self._height[i] - self._height[j])
            self._split[i, j] = len(self.points)
            self.points.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])))
        return self._split[i, j]

    def finish(self) -> Facets:
        """The finished stone; ValueError when a side of the block is still there."""
        if not self.faces or "" in self.names:
            raise ValueError("the facet planes do not close a stone")
        number = {old: new for new, old in enumerate(self.live)}
        # 12 decimals of unit width: clears the last bits, so mirrored points match.
        points = np.round(np.array([self.points[k] for k in self.live]), 12) + 0.0
        return _sealed(points, [[number[k] for k in f] for f in self.faces], self.names)


def _walk(follow: dict[int, int]) -> list[int]:
    """The closed loop held in a point -> next point map, from its lowest number."""
    if not follow:
        raise ValueError("nothing is left of the stone")
    start = min(follow)
    loop, k = [start], follow[start]
    while k != start:
        if k not in follow or len(loop) > len(follow):
            raise ValueError("a facet plane grazes the stone; its rim does not close")
        loop.append(k)
        k = follow[k]
    return loop
