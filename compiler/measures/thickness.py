"""Wall thickness: the thinnest metal between faces that oppose each other, and where it is.

The thickness at a point of the skin is the diameter of the largest ball inside the metal that
touches the skin there (see `balls`). Only contacts within `facing` degrees (45) of opposite
count: the square or bevelled edge of a plate is not a thin wall, and a wedge sharper than
`facing` is one, down to 0 at its knife edge. A bar whose faces all meet wider than that (a
three-sided wire) has no opposing faces; `slender` finds those.

Method. Rays straight in from points spread over the skin bound the ball from above and pick
the thinnest points of each neighbourhood; the exact ball is taken there and the point is then
moved downhill over the skin in ever smaller steps.

Error. Every figure given is the exact ball of the mesh at its point, and the walk down stops
within about 1/100 of the spacing of the points (spacing: a tenth of `limit`, more on a large
piece as `most_spots` allows). A thin place much smaller than the spacing can be missed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .balls import Balls, shrink
from .closest import on_triangle
from .kinds import Floats, Ints, cross, dot, least_by_row, unit
from .labels import groups, lattice
from .rays import Spots, spots_on, straight_in
from .skin import Skin

FACING = 45.0
MOST_SPOTS = 16_000
MOST_PLACES = 64
MOST_STARTS = 240
MOST_WALKS = 32
TURNS = 6
STEPS = (1.5, 1.0, 0.7, 0.5, 0.35, 0.2, 0.1, 0.05, 0.025)


@dataclass(frozen=True)
class Place:
    """A thin place: figure mm, at (mid metal), the triangle and feature on either side, and the
    area (mm2, both faces) of skin under the limit round about it."""

    figure: float
    at: tuple[float, float, float]
    triangle: int
    owner: int
    other_triangle: int
    other_owner: int
    area: float


@dataclass(frozen=True)
class Thickness:
    """The thinnest wall: figure mm (inf if no faces oppose), at, triangle, owner; and the
    places under the limit, thinnest first, one for each patch of each pair of features."""

    figure: float
    at: tuple[float, float, float] | None
    triangle: int
    owner: int
    places: tuple[Place, ...]


@dataclass(eq=False)
class _Walls:
    """Balls under work with the triangle each stands on, and the patch it belongs to."""

    balls: Balls
    stand: Ints
    patch: Ints

    def some(self, keep: Ints) -> _Walls:
        """Only some of them (a copy)."""
        return _Walls(self.balls.some(keep), self.stand[keep], self.patch[keep])


def thickness(
    skin: Skin,
    limit: float,
    facing: float = FACING,
    knives: bool = True,
    most_spots: int = MOST_SPOTS,
) -> Thickness:
    """Thinnest wall of a skin and the places under `limit` mm; see the head of this file.

    `knives` also lists edges sharper than `facing` as places of thickness 0.
    """
    spots = spots_on(skin, 0.1 * limit, most_spots)
    far, met, square = straight_in(skin, spots)
    tilt = np.degrees(np.arccos(np.clip(square, -1, 1)))
    walls, area = _starts(skin, spots, far, met, tilt / facing, limit)
    walls = _walked(skin, walls, facing, spots)
    places = _places(skin, walls, area)
    if knives:
        places = _knives(skin, facing, limit) + places
    places = _apart(sorted(places, key=lambda place: place.figure), 2 * limit)
    if not places:
        return Thickness(np.inf, None, -1, -1, ())
    under = tuple(place for place in places if place.figure < limit)[:MOST_PLACES]
    first = places[0]
    return Thickness(first.figure, first.at, first.triangle, first.owner, under)


def ball_thickness(
    skin: Skin, limit: float, facing: float = FACING, most_spots: int = MOST_SPOTS
) -> tuple[Spots, Floats, Ints]:
    """Thickness at each of a spread of points, for pictures and tests.

    Returns (spots, diameter (n,) mm, triangle touched (n,)); places of `limit` or more are
    given as inf, -1. Exact for the mesh at each spot.
    """
    spots = spots_on(skin, 0.1 * limit, most_spots)
    far, _, square = straight_in(skin, spots)
    faced = (square > np.cos(np.radians(facing)) + 1e-4) & (far < limit)
    inward = -skin.outward(spots.at, spots.triangle)
    radius = np.where(faced, np.minimum(far * 1.05 + 1e-3, limit), limit) / 2
    start = Balls(spots.at, inward, radius, np.full(len(radius), -1, dtype=np.int64))
    balls = shrink(skin, start, facing)
    return spots, np.where(balls.touch < 0, np.inf, 2 * balls.radius), balls.touch


def _starts(
    skin: Skin, spots: Spots, far: Floats, met: Ints, tilt: Floats, limit: float
) -> tuple[_Walls, Floats]:
    """The shallowest ray of each cell, each class of tilt apart; area under the limit.

    Tilt is how squarely the ray meets, in parts of `facing`. The classes are kept apart since a
    slanting ray is short where its ball may not count.
    """
    thin = np.flatnonzero((met >= 0) & (far < limit * 1.25))
    if not len(thin):
        thin = np.flatnonzero((met >= 0) & (tilt < 1))
        thin = thin[np.argsort(far[thin], kind="stable")[:24]]
    kind = _kinds(skin, spots.triangle[thin], met[thin], np.floor(2 * tilt[thin]).clip(0, 2))
    middle = spots.at[thin] + 0.5 * far[thin, None] * spots.inward[thin]
    member = lattice(middle, limit, kind)[0]
    place, one, two = lattice(middle, limit, _kinds(skin, spots.triangle[thin], met[thin]))
    patch = groups(int(place.max(initial=-1)) + 1, one, two)[place]
    area = np.bincount(patch, ((far < limit) & (tilt < 1))[thin] * spots.share)
    order = np.lexsort((far[thin], member))
    first = order[least_by_row(member[order], far[thin][order])[1]]
    first = first[np.argsort(far[thin][first], kind="stable")][:MOST_STARTS]
    pick = thin[first]
    inward = -skin.outward(spots.at[pick], spots.triangle[pick])
    # A little over, for the ball of the smooth surface may be larger than the facet's.
    radius = far[pick] * 0.53 + 1e-3
    none = np.full(len(pick), -1, dtype=np.int64)
    balls = Balls(spots.at[pick], inward, radius, none)
    return _Walls(balls, spots.triangle[pick], patch[first]), area


def _kinds(skin: Skin, a: Ints, b: Ints, tilt: Floats | None = None) -> Ints:
    """One number for each pair of features and class of tilt."""
    one, two = skin.owner[a], skin.owner[b]
    tilt = np.zeros(len(one)) if tilt is None else tilt
    names = np.stack((np.minimum(one, two), np.maximum(one, two), tilt.astype(int)), axis=1)
    return np.unique(names, axis=0, return_inverse=True)[1].reshape(-1).astype(np.int64)


def _walked(skin: Skin, walls: _Walls, facing: float, spots: Spots) -> _Walls:
    """Shrink the balls, keep the smallest of each patch first, and move those downhill."""
    shrink(skin, walls.balls, facing, facing)
    walls = walls.some(np.flatnonzero(walls.balls.touch >= 0))
    order = np.lexsort((walls.balls.radius, walls.patch))
    first = np.r_[True, np.diff(walls.patch[order]) != 0][: len(order)]
    order = np.r_[order[first], np.sort(order[~first])]
    walls = walls.some(
        order[np.lexsort((walls.balls.radius[order], ~_head(first)))][:MOST_WALKS]
    )
    step = float(np.sqrt(spots.share))
    for turn, part in enumerate(STEPS):
        _downhill(skin, walls, part * step, facing, turn)
    walls.balls.radius *= 1.01
    walls.balls.touch[:] = -1
    shrink(skin, walls.balls, facing)
    return walls.some(np.flatnonzero(walls.balls.touch >= 0))


def _head(first: Floats) -> Floats:
    """The leading ones of each patch, moved to the front."""
    return np.sort(np.asarray(first, dtype=bool))[::-1]


def _downhill(skin: Skin, walls: _Walls, step: float, facing: float, turn: int) -> None:
    """Try points a step away on the skin and stand on the one with the smallest ball."""
    count = len(walls.stand)
    if not count:
        return
    out = -walls.balls.inward
    one, two = _across(out)
    angle = np.radians(360.0 / TURNS) * (np.arange(TURNS) + 0.5 * (turn % 2))
    way = np.cos(angle)[:, None, None] * one + np.sin(angle)[:, None, None] * two
    aim = (walls.balls.p + step * way).reshape(-1, 3)
    row = np.tile(np.arange(count), TURNS)
    spot, stand = _settle(skin, aim, out[row], step)
    ok = np.flatnonzero(stand >= 0)
    spot, stand, row = spot[ok], stand[ok], row[ok]
    radius = walls.balls.radius[row] * 1.001
    tries = Balls(
        spot, -skin.outward(spot, stand), radius, np.full(len(ok), -1, dtype=np.int64)
    )
    shrink(skin, tries, facing, facing)
    size = np.where(tries.touch >= 0, tries.radius, np.inf)
    order = np.lexsort((size, row))
    rows, best = least_by_row(row[order], size[order])
    better = size[order][best] < walls.balls.radius[rows]
    rows, best = rows[better], order[best[better]]
    walls.balls.p[rows], walls.balls.inward[rows] = spot[best], tries.inward[best]
    walls.balls.radius[rows], walls.balls.touch[rows] = size[best], tries.touch[best]
    walls.stand[rows] = stand[best]


def _across(out: Floats) -> tuple[Floats, Floats]:
    """Two directions along the skin for each outward direction."""
    start = np.zeros_like(out)
    start[np.arange(len(out)), np.argmin(np.abs(out), axis=1)] = 1.0
    one = unit(cross(start, out))
    return one, cross(out, one)


def _settle(skin: Skin, aim: Floats, out: Floats, step: float) -> tuple[Floats, Ints]:
    """Closest points of the skin, on faces turned much like `out`; triangle -1 if none near."""
    row, face = skin.grid.near(aim - step, aim + step)
    keep = (dot(skin.normals[face], out[row]) > 0.5) & skin.sound[face]
    row, face = row[keep], face[keep]
    spot = on_triangle(aim[row], skin.corners[face])
    go = spot - aim[row]
    rows, best = least_by_row(row, dot(go, go))
    at, stand = aim.copy(), np.full(len(aim), -1, dtype=np.int64)
    at[rows], stand[rows] = spot[best], face[best]
    return at, stand


def _places(skin: Skin, walls: _Walls, area: Floats) -> list[Place]:
    """The smallest ball of each patch and pair of features, as places."""
    found: dict[tuple[int, int, int], Place] = {}
    for i in np.argsort(walls.balls.radius, kind="stable").tolist():
        x, y, z = walls.balls.middle[i].tolist()
        a, b = int(walls.stand[i]), int(walls.balls.touch[i])
        owners, size = (
            (int(skin.owner[a]), int(skin.owner[b])),
            2 * float(walls.balls.radius[i]),
        )
        patch = int(walls.patch[i])
        place = Place(size, (x, y, z), a, owners[0], b, owners[1], float(area[patch]))
        found.setdefault((patch, *_pair(place)), place)
    return list(found.values())


def _knives(skin: Skin, facing: float, limit: float) -> list[Place]:
    """Edges of metal sharper than `facing`, as places of thickness 0, one for each patch."""
    folds = skin.folds
    sound = skin.sound[folds.one] & skin.sound[folds.two]
    keep = np.flatnonzero((folds.angle < facing - 0.01) & sound)
    middle = skin.points[folds.ends[keep]].mean(axis=1)
    owners = np.sort(skin.owner[np.stack((folds.one, folds.two), axis=1)[keep]], axis=1)
    kind = np.unique(owners, axis=0, return_inverse=True)[1].reshape(-1).astype(np.int64)
    member, one, two = lattice(middle, 2 * limit, kind)
    patch = groups(int(member.max(initial=-1)) + 1, one, two)[member]
    found = []
    for i in least_by_row(np.sort(patch), np.arange(len(patch), dtype=float))[1].tolist():
        k = int(np.argsort(patch, kind="stable")[i])
        x, y, z = middle[k].tolist()
        a, b = int(folds.one[keep[k]]), int(folds.two[keep[k]])
        found.append(Place(0.0, (x, y, z), a, int(skin.owner[a]), b, int(skin.owner[b]), 0.0))
    return found


def _apart(places: list[Place], near: float) -> list[Place]:
    """Drop a place that has a thinner one of the same two features close by.

    What the search found on the way down to a knife edge goes with the edge, however long.
    """
    kept: list[Place] = []
    for place in places:
        same = [other for other in kept if _pair(other) == _pair(place)]
        knife = place.figure < 0.01 * near and any(other.figure == 0 for other in same)
        if place.figure == 0 or not knife:
            way = (np.linalg.norm(np.subtract(place.at, other.at)) for other in same)
            if all(far > near for far in way):
                kept.append(place)
    return kept


def _pair(place: Place) -> tuple[int, int]:
    """The two features of a place, in order."""
    return min(place.owner, place.other_owner), max(place.owner, place.other_owner)
