"""Air between metal and metal that is no slit: wedges beside the joint of two parts, and reliefs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..measures.kinds import Flags, Floats, Ints, dot, frame_of, length, place_of, spread, unit
from ..measures.places import Place
from ..measures.rays import Spots
from ..measures.skin import Skin
from ..measures.thickness import Known
from .pairs import near_pairs

CREVICE = 4.0  # of its width: a wedge of 20 degrees lies so far from its end at most, with some to spare


def crevices(skin: Skin, limit: float) -> Known:
    """Rays across the wedge of air beside a joint of the two features they run between: it fills, and is
    no slit. What lies CREVICE times its own width or less from such a joint is of the wedge."""
    folds = skin.folds
    joint = np.flatnonzero((skin.owner[folds.one] != skin.owner[folds.two]) & (folds.angle > 180.0))
    ends = skin.points[folds.ends[joint]]
    times = np.maximum(1, np.ceil(length(ends[:, 1] - ends[:, 0]) / limit)).astype(np.int64)
    row, place = spread(times)
    share = (place + 0.5) / times[row]
    at = ends[row, 0] + share[:, None] * (ends[row, 1] - ends[row, 0])
    meeting = np.sort(skin.owner[np.stack((folds.one, folds.two), axis=1)[joint[row]]], axis=1)

    def known(spots: Spots, met: Ints, far: Floats, least: Floats, square: Floats) -> Flags:
        told = np.zeros(len(met), dtype=bool)
        ray = np.flatnonzero((met >= 0) & (far < limit))
        middle = spots.at[ray] + 0.5 * far[ray, None] * spots.inward[ray]
        between = np.sort(skin.owner[np.stack((spots.triangle, met), axis=1)[ray]], axis=1)
        one, two = near_pairs(middle, at, CREVICE * limit)
        near = length(middle[one] - at[two]) <= CREVICE * far[ray[one]] + limit / 2
        near &= (between[one] == meeting[two]).all(axis=1)
        told[ray[one[near]]] = True
        return told

    return known


FINISHED = 0.1  # mm, what finishing takes off at the least: common practice, no source
WAYS, STEPS = 8, 8  # half round, along the walls of a slit; to what makes it deep


def is_relief(air: Skin, place: Place, limit: float) -> bool:
    """Whether a narrow place of the air opens along its walls before it is as deep as it is wide, or
    as what finishing takes off: investment does not break off there, and a wheel reaches in."""
    middle, across = np.array(place.at)[None], air.normals[place.triangle]
    deep = max(place.figure, FINISHED)
    turn = np.arange(WAYS) * (np.pi / WAYS)
    ways = np.stack((np.cos(turn), np.sin(turn)), axis=1) @ np.stack(frame_of(across))
    depth = _depth(air, np.repeat(middle, WAYS, axis=0), ways, across, deep, limit)
    way = ways[int(depth.argmin())]
    along = deep * np.cross(across, way)  # at a corner of the walls the slit is deeper one way on
    beside = _depth(
        air, np.concatenate((middle + along, middle - along)), np.stack((way, way)), across, deep, limit
    )
    return bool(depth.min() < deep and (beside < deep).all())


def _depth(air: Skin, at: Floats, way: Floats, across: Floats, deep: float, limit: float) -> Floats:
    """How far the walls go on before and behind places (n, 3), mm, where they end on one side at least, else
    ``deep`` or more; 0 where no walls are."""
    way, at = np.concatenate((way, -way)), np.concatenate((at, at))
    far = np.minimum(air.grid.cast(at, way, reach=deep)[0], deep)
    steps = deep * np.arange(STEPS + 1) / STEPS
    spots = (at[:, None] + way[:, None] * steps[:, None]).reshape(-1, 3)
    wide = sum(
        air.grid.cast(spots, np.tile(one, (len(spots), 1)), reach=2 * limit)[0] for one in (across, -across)
    )
    ends = np.where(np.reshape(wide > 2 * limit, (len(at), -1)), steps, np.inf).min(axis=1)
    opens = (ends < far).reshape(2, -1).any(axis=0)
    return np.where(opens, np.minimum(ends, far).reshape(2, -1).sum(axis=0), 2 * deep)


GROOVE = 5.0  # of the least width of a slit: a wedge narrower than that so deep is more than a crevice
SHARP, LONG = 20.0, 0.5  # degrees that the air of a groove opens by at most; mm along its joint, at the least


def grooves(skin: Skin, air: Skin, limit: float) -> Iterator[Place]:
    """Wedges of air between two features that meet at their ground, still narrower than ``limit`` mm GROOVE
    times that above it: one for each two features, as wide as there."""
    folds = skin.folds
    keep = (skin.owner[folds.one] != skin.owner[folds.two]) & (folds.angle > 360.0 - SHARP)
    edge = np.flatnonzero(keep & skin.sound[folds.one] & skin.sound[folds.two])
    ends, one, two = skin.points[folds.ends[edge]], folds.one[edge], folds.two[edge]
    long = length(ends[:, 1] - ends[:, 0])
    along, across = (ends[:, 1] - ends[:, 0]) / long[:, None], skin.normals[one]
    in_one, in_two = (_from_edge(skin.corners[face].mean(axis=1) - ends[:, 0], along) for face in (one, two))
    up = unit(in_one + in_two)
    deep = GROOVE * limit * np.arange(1, STEPS + 1) / STEPS
    spots = ends.mean(axis=1)[:, None] + deep[:, None] * up[:, None]
    wide = _between(air, spots.reshape(-1, 3), np.repeat(across, STEPS, axis=0), limit).reshape(-1, STEPS)
    narrow = np.flatnonzero((wide < limit).all(axis=1))
    pairs = np.sort(skin.owner[np.stack((one, two), axis=1)[narrow]], axis=1)
    for pair in np.unique(pairs, axis=0):
        mine = narrow[(pairs == pair).all(axis=1)]
        if long[mine].sum() < LONG:
            continue
        worst = mine[np.argsort(wide[mine, -1], kind="stable")[len(mine) // 2]]
        a, b = int(one[worst]), int(two[worst])
        yield Place(
            float(wide[worst, -1]), place_of(spots[worst, -1]), a, int(skin.owner[a]), b, int(skin.owner[b]),
            float(2 * deep[-1] * long[mine].sum()),
        )  # fmt: skip


def _from_edge(way: Floats, along: Floats) -> Floats:
    """The unit way (n, 3) from an edge ``along`` (n, 3) into the face of a place ``way`` (n, 3) off it."""
    return unit(way - dot(way, along)[:, None] * along)


def _between(air: Skin, at: Floats, across: Floats, reach: float) -> Floats:
    """How far it is from wall to wall at places of the air (n, 3), mm; more than ``reach`` where one is."""
    return np.asarray(sum(air.grid.cast(at, way, reach=reach)[0] for way in (across, -across)))
