"""Stones as the measures of the metal round them see them, and what those measures give.

Angles are degrees round the stone, lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from ..bench.stone_solid import stone_mesh
from ..geometry.outlines import GIRDLE, trace
from ..measures.arcs import longest_gap
from ..measures.kinds import Floats
from ..measures.polar import outward
from ..measures.stone import Stone, hull, rim

COUNT = 180
STEP = 360.0 / COUNT
PHASE = np.radians(0.7236)  # turns the lines off the corners of facets, which lie at round angles
FLAT = 5e-4  # mm, of the chords of a girdle's outline
TOUCHING = 0.002  # mm above a flat back, which lies in a face of the metal
BENEATH = 0.1  # mm below a flat back, where metal goes on outside a seat that does not break out
OVER = (0.12, 0.6)  # heights looked at, as shares of the crown
UNDER = (0.08, 0.3, 0.7)  # as shares of the pavilion
LEVELS = len(UNDER) + 1 + len(OVER)


@dataclass(frozen=True)
class Spot:
    """A figure in mm at a place of the piece, and the feature whose metal it is."""

    figure: float
    at: tuple[float, float, float]
    owner: int


@dataclass(frozen=True)
class Lap:
    """Metal over the girdle's edge: arc in degrees, how far it laps over, how high its feature
    reaches above the middle of the girdle, and where."""

    start: float
    end: float
    over: float
    top: float
    at: tuple[float, float, float]
    owner: int


@dataclass(frozen=True)
class Surround:
    """What is round one stone.

    laps: metal over its edge; free: widest arc without any; grip: the lap it is held by (the least one it
    cannot spare; 0 when it is not held); push_free: widest arc without metal standing above the girdle near
    enough to be pushed over. beside: thinnest wall of its seat (None: none found), ridges between two seats
    left out. broken: widest arc in which a seat walled elsewhere is open, and broken_at its middle. hem:
    narrowest room behind a prong. inside: how deep each feature reaches into the stone. under: how far metal
    below the girdle reaches inside it, by direction, (COUNT,)."""

    laps: tuple[Lap, ...]
    free: float
    grip: float
    push_free: float
    beside: Spot | None
    broken: float
    broken_at: tuple[float, float, float] | None
    hem: Spot | None
    inside: tuple[Spot, ...]
    under: Floats

    @property
    def ledge(self) -> float:
        """The ledge that carries the stone: the widest one that leaves no half of it free, mm."""
        sizes = np.unique(self.under)[::-1]
        low, high = 0, len(sizes) - 1
        while low < high:
            middle = (low + high) // 2
            gap = STEP * float(longest_gap((self.under < sizes[middle])[None])[0])
            low, high = (low, middle) if gap < 180.0 - 1e-6 else (middle + 1, high)
        return float(sizes[low])


@dataclass(frozen=True, eq=False)
class Form:
    """A stone in its own axes: heights of girdle, table and culet; its radius by level and
    direction, (levels, COUNT); which way its girdle looks by direction, degrees, (COUNT,)."""

    low: float
    high: float
    top: float
    tip: float
    heights: Floats
    radius: Floats
    looks: Floats

    @property
    def rim(self) -> Floats:
        """Radius of the girdle, by direction."""
        return np.asarray(self.radius[len(UNDER)])


@lru_cache(maxsize=256)
def form_of(figures: tuple[Any, ...], mirrored: bool) -> Form:
    """The form of a stone given as (cut, length, width[, narrow])."""
    points, triangles = stone_mesh(figures)
    if mirrored:
        points, triangles = points * (1.0, -1.0, 1.0), triangles[:, ::-1]
    way = np.array([np.cos(PHASE), -np.sin(PHASE) if mirrored else np.sin(PHASE), 0.0])
    stone = Stone(points, np.zeros(3), np.array([0.0, 0.0, 1.0]), way)
    low, high = stone.girdle
    top, tip = float(points[:, 2].max()), float(points[:, 2].min())
    heights = np.array(
        [max(low - share * (low - tip), tip + TOUCHING) for share in UNDER]
        + [low + 0.7 * (high - low)]  # the middle itself often lies in a face of the metal
        + [high + share * (top - high) for share in OVER]
    )
    turns = np.arange(COUNT, dtype=np.float64) * STEP
    far = stone.radius(turns)
    # Which way the girdle looks is told by its outline: the facets of a round girdle lean from it.
    flat = trace(("circle", figures[2]) if figures[0] == "round" else (GIRDLE, *figures), FLAT)
    flat = np.concatenate([flat * (1.0, -1.0 if mirrored else 1.0), np.zeros((len(flat), 1))], axis=1)
    looks = rim(hull(stone.own(flat)[:, :2]), turns)[1]
    met = outward(stone.own(points[triangles]), heights, COUNT)
    radius = np.tile(far, len(heights))
    radius[met.line[met.leaving]] = met.far[met.leaving]
    radius = radius.reshape(len(heights), COUNT)
    radius[len(UNDER)] = far
    if low - tip < TOUCHING:  # on a flat back the last of the heights below lies in what it stands on
        heights[len(UNDER) - 1], radius[len(UNDER) - 1] = tip - BENEATH, 0.0
    return Form(low, high, top, tip, heights, radius, looks)


def set_stone(figures: tuple[Any, ...], frame: Floats) -> Stone:
    """The stone of the given figures where a (3, 4) frame stands it."""
    points = stone_mesh(figures)[0] @ frame[:, :3].T + frame[:, 3]
    right = np.cos(PHASE) * frame[:, 0] + np.sin(PHASE) * frame[:, 1]
    return Stone(points, frame[:, 3], frame[:, 2], right)
