"""Necks: where the parts of a body of metal are joined over much less than their own section.

Method. The skin falls into parts, one for each solid it was made of; the lines where parts meet bound the
metal they are joined over, and the vector area of such a line is that of the flat neck it spans (exact where
the line lies in a plane). A neck is set beside the mean section of the thinner part parallel to it: its
volume outside the others over its extent across the neck. Of a part known to be slimmer than that (bent wire
is, cut along itself) it is what is known. Parts that hold well are taken together as one and looked at again,
so a head counts with all its feet, and a part that holds well by another way holds. Faces that tools left
belong to the part beside them. Lengths mm, areas mm2."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import Floats, Ints, cross, dot, length, place_of, renumbered
from .labels import groups
from .skin import Skin

ROUNDS = 24  # of taking together; a chain of parts halves in each
TOUCH = 1e-6  # mm2, joined over no more, parts touch in a line or a point
FEW = 40  # lines round a part among which rings within rings are sought


@dataclass(frozen=True, eq=False)
class Neck:
    """A joint of two parts of a skin: its area, the mean section of the smaller part beside it, where it is,
    the two solids that meet there (that of the smaller part first) and all solids of the smaller part."""

    area: float
    section: float
    at: tuple[float, float, float]
    meeting: tuple[int, int]
    small: tuple[int, ...]


def necks(skin: Skin, solid: Ints, least: float, slim: Floats | None = None) -> list[Neck]:
    """Joints of less than ``least`` times the section of the smaller part.

    ``solid`` (m,) numbers the solid each face is of; -1 for faces that tools left. ``slim`` (n,) gives the
    largest section of each solid, mm2, inf where it is not known."""
    solid = _spread(skin, solid)
    most = np.full(int(solid.max(initial=-1)) + 1, np.inf)
    if slim is not None:
        most[: len(slim)] = slim[: len(most)]
    edges = skin.folds
    met = np.flatnonzero(solid[edges.one] != solid[edges.two])
    if not len(met):
        return []
    # Connected faces of one part: lines of two that touch in a point are two lines.
    same = solid[edges.one] == solid[edges.two]
    part, island = solid, groups(len(solid), edges.one[same], edges.two[same])
    for _ in range(ROUNDS):
        joints = _Joints(skin, part, island, met, least)
        good = joints.area >= least * joints.section
        if not good.any():  # what holds as it is has been taken together
            joints.section = np.minimum(joints.section, most[joints.small])
            good = joints.area >= least * joints.section
        if not good.any():
            break
        count = int(part.max()) + 1
        group = groups(count, joints.small[good], joints.large[good])
        size = np.bincount(group)
        part, alone = group[part], size[group] == 1
        most = np.where(size > 1, np.inf, np.bincount(group[alone], most[:count][alone], len(size)))
        one, two = edges.one[met], edges.two[met]
        apart = part[one] != part[two]
        island = groups(len(island), island[one[~apart]], island[two[~apart]])[island]
        met = met[apart]
        if not len(met):
            return []
    else:
        return []
    return [joints.neck(k, solid) for k in range(len(joints.area))]


def _spread(skin: Skin, solid: Ints) -> Ints:
    """The solids with the faces that have none given to those beside them; what no solid is beside
    becomes one of its own, numbered after all others."""
    solid = np.array(solid, dtype=np.int64)
    one, two = skin.folds.one, skin.folds.two
    bare = (solid[one] < 0) | (solid[two] < 0)
    one, two = one[bare], two[bare]
    while len(one):
        a, b = solid[one], solid[two]
        ways = (a < 0) != (b < 0)
        if not ways.any():
            break
        to, of = np.where(a < 0, one, two)[ways], np.maximum(a, b)[ways]
        fresh = np.full(len(solid), np.iinfo(np.int64).max)
        np.minimum.at(fresh, to, of)
        solid[to] = fresh[to]
        left = (solid[one] < 0) | (solid[two] < 0)
        one, two = one[left], two[left]
    return np.where(solid < 0, solid.max(initial=-1) + 1, solid)


class _Joints:
    """All pairs of parts that meet, at one state of taking them together."""

    def __init__(self, skin: Skin, part: Ints, island: Ints, met: Ints, least: float) -> None:
        self.skin, self.part = skin, part
        folds, count = skin.folds, int(part.max()) + 1
        one, two, ends = part[folds.one[met]], part[folds.two[met]], folds.ends[met]
        self.volume = _volumes(skin, part, count, met, island)
        # Every line is gone along with the smaller part on the left.
        turn = (self.volume[one] > self.volume[two]) | ((self.volume[one] == self.volume[two]) & (one > two))
        small, large = np.where(turn, two, one), np.where(turn, one, two)
        faces = np.stack((folds.one[met], folds.two[met]), 1)
        self.faces = np.where(turn[:, None], faces[:, ::-1], faces)
        ends = np.where(turn[:, None], ends[:, ::-1], ends)
        start, end = skin.points[ends[:, 0]], skin.points[ends[:, 1]]
        line = _lines(skin, island, ends, self.faces[:, 0])
        middle = np.stack([np.bincount(line, start[:, k]) / np.bincount(line) for k in range(3)], 1)
        spans = 0.5 * cross(start - middle[line], end - middle[line])
        pairs, pair = np.unique(np.stack((small, large), 1), axis=0, return_inverse=True)
        self.pair, self.small, self.large = pair.reshape(-1), pairs[:, 0], pairs[:, 1]
        self._measure(line, spans, middle)
        self.section = self._sections(self.small, np.arange(len(self.small)))
        # What stands on a thin plate of less metal than its own is no wider than itself.
        weak = np.flatnonzero(self.area < least * self.section)
        self.section[weak] = np.minimum(self.section[weak], self._sections(self.large[weak], weak))

    def _measure(self, line: Ints, spans: Floats, middle: Floats) -> None:
        """Area, way and place of every joint: that of its lines together, those within others taken out."""
        code, row = np.unique(self.pair * np.int64(line.max() + 1) + line, return_inverse=True)
        pair, of = code // (line.max() + 1), code % (line.max() + 1)
        row = row.reshape(-1)
        vector: Floats = np.stack([np.bincount(row, spans[:, k]) for k in range(3)], 1).astype(float)
        size = length(vector)
        sign = np.ones(len(size))
        for k in np.flatnonzero(np.bincount(pair) > 1).tolist():
            mine = np.flatnonzero(pair == k)
            if len(mine) <= FEW:
                sign[mine] = _rings(vector[mine], size[mine], middle[of[mine]])
        self.area = np.maximum(np.bincount(pair, sign * size), 0.0)
        first = np.lexsort((-size, pair))
        first = first[np.r_[True, np.diff(pair[first]) > 0]]
        self.way = vector[first] / np.maximum(size[first], 1e-300)[:, None]
        self.at = middle[of[first]]

    def _sections(self, parts: Ints, joints: Ints) -> Floats:
        """Mean section of one of the ``parts`` of each of some joints, parallel to the joint."""
        order = np.argsort(self.part, kind="stable")
        starts = np.searchsorted(self.part[order], np.arange(len(self.volume) + 1))
        high = np.empty(len(joints))
        for k, part in enumerate(parts.tolist()):
            points = self.skin.corners[order[starts[part] : starts[part + 1]]].reshape(-1, 3)
            # Where parts only touch, the joint looks no way: the section is that across the part's length.
            touches = self.area[joints[k]] <= TOUCH
            way = np.linalg.eigh(np.cov(points.T))[1][:, -1] if touches else self.way[joints[k]]
            high[k] = np.ptp(points @ way)
        return np.asarray(self.volume[parts] / np.maximum(high, 1e-6))

    def neck(self, k: int, solid: Ints) -> Neck:
        """One joint in full."""
        small = self.part == self.small[k]
        one, two = (np.bincount(side).argmax() for side in solid[self.faces[self.pair == k]].T)
        return Neck(
            float(self.area[k]), float(self.section[k]), place_of(self.at[k]),
            (int(one), int(two)), tuple(np.unique(solid[small]).tolist()),
        )  # fmt: skip


def _volumes(skin: Skin, part: Ints, count: int, met: Ints, island: Ints) -> Floats:
    """Volume of every part, closed by flat fans where it meets others, (count,) mm3."""
    cones, _ = skin.cones
    volume = np.bincount(part, cones, count)
    folds = skin.folds
    face = np.r_[folds.one[met], folds.two[met]]
    # The cap turns against the faces of the part.
    ends = np.concatenate((folds.ends[met][:, ::-1], folds.ends[met]))
    line = _lines(skin, island, ends, face)
    size = np.bincount(line)
    points = skin.points - skin.box[0]
    start, end = points[ends[:, 0]], points[ends[:, 1]]
    middle = np.stack([np.bincount(line, start[:, k]) / size for k in range(3)], 1)
    caps = dot(middle[line], cross(start, end)) / 6.0
    return np.abs(volume + np.bincount(part[face], caps, count))


def _lines(skin: Skin, island: Ints, ends: Ints, face: Ints) -> Ints:
    """The number of the line each edge is part of: edges with a ``face`` on one island (m,) that share
    points. Where lines touch in a point, that is as many points as the island has ways round it."""
    wide = np.int64(ends.max() + 1)
    names, place = np.unique(island[face][:, None] * wide + ends, return_inverse=True)
    place = place.reshape(ends.shape).astype(np.int64)
    count = len(names)
    several: dict[tuple[int, int], int] = {}
    for k, side in zip(*np.nonzero((np.bincount(place.reshape(-1)) > 2)[place]), strict=True):
        key = int(place[k, side]), _wedge(skin, island, int(ends[k, side]), int(face[k]))
        place[k, side] = several.setdefault(key, count + len(several))
    count += len(several)
    return renumbered(groups(count, place[:, 0], place[:, 1])[place[:, 0]], count)


def _wedge(skin: Skin, island: Ints, point: int, face: int) -> int:
    """The least face about a point reached from a face over edges there, without leaving its island."""
    about = skin.fans.faces[skin.fans.starts[point] : skin.fans.starts[point + 1]].tolist()
    about = [one for one in about if island[one] == island[face]]
    reached, todo = {face}, [face]
    while todo:
        near = set(skin.triangles[todo.pop()].tolist()) - {point}
        for one in about:
            if one not in reached and near & set(skin.triangles[one].tolist()):
                reached.add(one)
                todo.append(one)
    return min(reached)


def _rings(vector: Floats, size: Floats, middle: Floats) -> Floats:
    """-1 for lines that lie within another in one plane, as the inside of a tube; 0 where they lie
    farther up or down in it, as of a hole through both parts; else 1."""
    sign = np.ones(len(size))
    way = vector / np.maximum(size, 1e-300)[:, None]
    radius = np.sqrt(size / np.pi)
    for k in np.argsort(-size, kind="stable").tolist():
        go = middle - middle[k]
        level = np.abs(go @ way[k])
        off = np.sqrt(np.maximum(dot(go, go) - level**2, 0.0))
        inner = (way @ way[k] < -0.8) & (size < 0.98 * size[k]) & (level < 2.0 * radius[k])
        inner &= off + radius < 1.05 * radius[k]
        if sign[k] > 0:
            sign[inner] = np.where(level[inner] < 0.5 * radius[k], -1.0, 0.0)
    return sign
