"""Wall thickness: the thinnest metal between faces that oppose each other, and where it is.

The thickness at a point of the skin is the diameter of the largest ball inside the metal that touches the
skin there (see `balls`). Only contacts within `facing` degrees (45) of opposite count: the square or bevelled
edge of a plate is not a thin wall, and a wedge sharper than `facing` is one, down to 0 at its knife edge. A
bar whose faces all meet wider than that (a three-sided wire) has no opposing faces; `slender` finds those.

Method. Rays straight in from points spread over the skin bound the ball from above and pick the thinnest
points of each neighbourhood; the exact ball is taken there and the point is then moved downhill over the skin
in ever smaller steps.

Error. Every figure given is the exact ball of the mesh at its point, and the walk down stops within about
1/100 of the spacing of the points (spacing: a tenth of `limit`, more on a large piece as `most_spots`
allows). A thin place much smaller than the spacing can be missed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .balls import Balls, shrink
from .closest import on_triangle
from .kinds import Flags, Floats, Ints, dot, frame_of, least_by_row
from .labels import groups, lattice
from .places import Place, Thickness, apart, knife_edges
from .rays import Spots, spots_on, straight_in
from .skin import Skin

FACING = 45.0
MOST_SPOTS = 16_000
MOST_PLACES = 64
MOST_STARTS = 200
MOST_HEAVY = 24
HEAVY = 3.0
"""Walls thicker than this (mm) and the limit are looked at from fewer points."""
MOST_WALKS = 28
TURNS = 5
STEPS = (1.5, 1.0, 0.7, 0.5, 0.3, 0.15, 0.07, 0.03)


Known = Callable[[Spots, Ints, Floats, Floats, Floats], Flags]


@dataclass(eq=False)
class _Walls:
    """Balls under work with the triangle each stands on, and the patch it belongs to."""

    balls: Balls
    stand: Ints
    patch: Ints

    def some(self, keep: Ints) -> _Walls:
        """Only some of them (a copy)."""
        return _Walls(self.balls.some(keep), self.stand[keep], self.patch[keep])

    def with_these(self, more: _Walls) -> _Walls:
        """These and some more."""
        a, b = self.balls, more.balls
        balls = Balls(
            np.concatenate((a.p, b.p)), np.concatenate((a.inward, b.inward)), np.r_[a.radius, b.radius],
            np.r_[a.touch, b.touch],
        )
        return _Walls(balls, np.r_[self.stand, more.stand], np.r_[self.patch, more.patch])


def thickness(
    skin: Skin, limit: float, facing: float = FACING, knives: bool = True, beyond: bool = True,
    most_spots: int = MOST_SPOTS, known: Known | None = None, least_area: float = 0.0,
) -> Thickness:
    """Thinnest wall of a skin and the places under `limit` mm; see the head of this file.

    `known` tells which rays are of no further interest: (spots they leave, faces they meet, length mm, a
    bound below the thickness from there to half way to the next, how squarely they meet); and `least_area`
    (mm2) how large a patch must be to be one. `knives` also lists edges sharper than `facing` as places of
    thickness 0. `beyond` goes on to find the thinnest wall when it is over the limit; without it the figure
    is then inf."""
    spots = spots_on(skin, 0.1 * limit, most_spots)
    # Nothing farther than `_starts` looks is of use when only places under the limit are wanted.
    far, met, square = straight_in(skin, spots, np.inf if beyond else 1.25 * limit)
    tilt = np.degrees(np.arccos(np.clip(square, -1, 1))) / facing
    least = _at_least(far, square, float(np.sqrt(spots.share)))
    if known is not None:
        met = np.where((met >= 0) & known(spots, met, far, least, square), -1, met)
    if not beyond:
        met = np.where(least < limit, met, -1)
    tilt[met < 0] = np.inf
    places: list[Place] = []
    shallow = 1.1 * float(far[tilt < 0.5].min(initial=np.inf)) if beyond else np.inf
    for look in (limit, shallow):
        # When there is nothing under the limit, look again a little past the shallowest ray.
        if not places and np.isfinite(look):
            most = MOST_STARTS if look < max(limit, HEAVY) else MOST_HEAVY
            walls, area = _starts(skin, spots, far, met, tilt, limit, look, most, least_area)
            places = _places(skin, _walked(skin, walls, facing, spots), area)
    if knives:
        places = knife_edges(skin, facing, limit) + places
    places = apart(sorted(places, key=lambda place: place.figure), 2 * limit)
    if not places:
        return Thickness(np.inf, None, -1, -1, ())
    under = tuple(place for place in places if place.figure < limit)[:MOST_PLACES]
    first = places[0]
    return Thickness(first.figure, first.at, first.triangle, first.owner, under)


def _at_least(far: Floats, square: Floats, spacing: float) -> Floats:
    """A bound below the thickness from here to half way to the next spot.

    In a wedge of angle a the ball at the end of a ray of length d has a diameter of d (1 - tan(a/2)^2), and d
    falls by at most tan(a) per mm along the skin; a curved wall falls by half of that over the way to where
    it is thinnest. A few degrees are added for facets."""
    angle = np.minimum(np.arccos(np.clip(square, 0.0, 1.0)) + np.radians(3.0), np.radians(89.0))
    return np.asarray(far * (1 - np.tan(angle / 2) ** 2) - 0.75 * spacing * np.tan(angle))


def _starts(
    skin: Skin, spots: Spots, far: Floats, met: Ints, tilt: Floats, limit: float, look: float, most: int,
    least_area: float,
) -> tuple[_Walls, Floats]:
    """The shallowest ray of each cell, each class of tilt apart, out to `look` mm; and the area of each patch
    under the limit.

    Tilt is how squarely the ray meets, in parts of `facing`. The classes are kept apart since a slanting ray
    is short where its ball may not count."""
    thin = np.flatnonzero((met >= 0) & (far < look * 1.25))
    middle = spots.at[thin] + 0.5 * far[thin, None] * spots.inward[thin]
    kind = _kinds(skin, spots.triangle[thin], met[thin], np.floor(2 * tilt[thin]).clip(0, 2))
    member = lattice(middle, look, kind)[0]
    place, one, two = lattice(middle, look, _kinds(skin, spots.triangle[thin], met[thin]))
    patch = groups(int(place.max(initial=-1)) + 1, one, two)[place]
    counted = ((far < limit) & (tilt < 1))[thin]
    area = np.asarray(np.bincount(patch, counted * spots.share), dtype=np.float64)
    order = np.lexsort((far[thin], member))
    order = order[area[patch[order]] >= least_area]
    first = order[least_by_row(member[order], far[thin][order])[1]]
    first = first[_leaders(far[thin][first], patch[first])][:most]
    pick = thin[first]
    inward = -skin.outward(spots.at[pick], spots.triangle[pick])
    # A little over, for the ball of the smooth surface may be larger than the facet's.
    radius = far[pick] * 0.53 + 1e-3
    none = np.full(len(pick), -1, dtype=np.int64)
    balls = Balls(spots.at[pick], inward, radius, none)
    return _Walls(balls, spots.triangle[pick], patch[first]), area


def _leaders(size: Floats, patch: Ints) -> Ints:
    """Order of work: in turn the smallest of a patch, and the smallest of all still left."""
    order = np.argsort(size, kind="stable")
    lead = np.zeros(len(order), dtype=bool)
    lead[np.unique(patch[order], return_index=True)[1]] = True
    fair = np.r_[order[lead], order[~lead]]
    both = np.stack((fair, order), axis=1).reshape(-1)
    return both[np.sort(np.unique(both, return_index=True)[1])]


def _kinds(skin: Skin, a: Ints, b: Ints, tilt: Floats | None = None) -> Ints:
    """One number for each pair of features and class of tilt."""
    one, two = skin.owner[a], skin.owner[b]
    tilt = np.zeros(len(one)) if tilt is None else tilt
    names = np.stack((np.minimum(one, two), np.maximum(one, two), tilt.astype(int)), axis=1)
    return np.unique(names, axis=0, return_inverse=True)[1].reshape(-1).astype(np.int64)


def _walked(skin: Skin, walls: _Walls, facing: float, spots: Spots) -> _Walls:
    """Shrink the balls, and move those of the thinnest places downhill over the skin."""
    shrink(skin, walls.balls, facing, facing)
    walls = walls.some(np.flatnonzero(walls.balls.touch >= 0))
    order = _leaders(walls.balls.radius, walls.patch)
    # Where each stood stays with them: a walk may end where no contact lies well opposite.
    moving, still = walls.some(order[:MOST_WALKS]), walls
    step = float(np.sqrt(spots.share))
    for turn, part in enumerate(STEPS):
        _downhill(skin, moving, part * step, facing, turn)
    return _strict(skin, moving.with_these(still), facing)


def _strict(skin: Skin, walls: _Walls, facing: float) -> _Walls:
    """Take the balls once more, now with contacts that lie well opposite only."""
    walls.balls.radius *= 1.01
    walls.balls.touch[:] = -1
    shrink(skin, walls.balls, facing)
    return walls.some(np.flatnonzero(walls.balls.touch >= 0))


def _downhill(skin: Skin, walls: _Walls, step: float, facing: float, turn: int) -> None:
    """Try points a step away on the skin and stand on the one with the smallest ball."""
    count = len(walls.stand)
    if not count:
        return
    out = -walls.balls.inward
    one, two = frame_of(out)
    angle = np.radians(360.0 / TURNS) * (np.arange(TURNS) + 0.5 * (turn % 2))
    way = np.cos(angle)[:, None, None] * one + np.sin(angle)[:, None, None] * two
    aim = (walls.balls.p + step * way).reshape(-1, 3)
    row = np.tile(np.arange(count), TURNS)
    spot, stand = _settle(skin, aim, out[row], step)
    ok = np.flatnonzero(stand >= 0)
    spot, stand, row = spot[ok], stand[ok], row[ok]
    radius = walls.balls.radius[row] * 1.001
    tries = Balls(spot, -skin.outward(spot, stand), radius, np.full(len(ok), -1, dtype=np.int64))
    shrink(skin, tries, facing, facing)
    size = np.where(tries.touch >= 0, tries.radius, np.inf)
    order = np.lexsort((size, row))
    rows, best = least_by_row(row[order], size[order])
    better = size[order][best] < walls.balls.radius[rows]
    rows, best = rows[better], order[best[better]]
    walls.balls.p[rows], walls.balls.inward[rows] = spot[best], tries.inward[best]
    walls.balls.radius[rows], walls.balls.touch[rows] = size[best], tries.touch[best]
    walls.stand[rows] = stand[best]


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
        owners, size = (int(skin.owner[a]), int(skin.owner[b])), 2 * float(walls.balls.radius[i]),
        patch = int(walls.patch[i])
        place = Place(size, (x, y, z), a, owners[0], b, owners[1], float(area[patch]))
        found.setdefault((patch, *place.pair), place)
    return list(found.values())
