"""The answers of the wall and gap measures, and the knife edges among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import length, place_of
from .labels import groups, lattice
from .skin import Skin

SHORT = 0.02
"""Knife edges shorter than this in all (mm) are crumbs of the kernel's work."""


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

    @property
    def pair(self) -> tuple[int, int]:
        """The two features, in order."""
        return min(self.owner, self.other_owner), max(self.owner, self.other_owner)


@dataclass(frozen=True)
class Thickness:
    """The thinnest wall: figure mm (inf if no faces oppose), at, triangle, owner; and the
    places under the limit, thinnest first, one for each patch of each pair of features."""

    figure: float
    at: tuple[float, float, float] | None
    triangle: int
    owner: int
    places: tuple[Place, ...]


def knife_edges(skin: Skin, facing: float, limit: float) -> list[Place]:
    """Edges of metal sharper than `facing`, as places of thickness 0, one for each patch."""
    folds = skin.folds
    sound = skin.sound[folds.one] & skin.sound[folds.two]
    keep = np.flatnonzero((folds.angle < facing - 0.01) & sound)
    middle = skin.points[folds.ends[keep]].mean(axis=1)
    owners = np.sort(skin.owner[np.stack((folds.one, folds.two), axis=1)[keep]], axis=1)
    kind = np.unique(owners, axis=0, return_inverse=True)[1].reshape(-1).astype(np.int64)
    member, one, two = lattice(middle, 2 * limit, kind)
    patch = groups(int(member.max(initial=-1)) + 1, one, two)[member]
    sizes = np.bincount(patch, length(np.diff(skin.points[folds.ends[keep]], axis=1)[:, 0]))
    found = []
    for k in np.unique(patch, return_index=True)[1].tolist():
        if sizes[patch[k]] > SHORT:
            a, b = int(folds.one[keep[k]]), int(folds.two[keep[k]])
            who = int(skin.owner[a]), int(skin.owner[b])
            found.append(Place(0.0, place_of(middle[k]), a, who[0], b, who[1], 0.0))
    return found


def apart(places: list[Place], near: float) -> list[Place]:
    """Drop a place with a thinner one of the same two features near by, or a knife edge it leads down to."""
    kept: list[Place] = []
    for place in places:
        same = [other for other in kept if other.pair == place.pair]
        knife = place.figure < 0.01 * near and any(other.figure == 0 for other in same)
        if place.figure == 0 or not knife:
            way = (np.linalg.norm(np.subtract(place.at, other.at)) for other in same)
            if all(far > near for far in way):
                kept.append(place)
    return kept
