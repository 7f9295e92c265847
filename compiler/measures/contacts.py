"""What holds a stone: metal over its crown edge, and metal against its girdle.

Method. The metal is cut square to the stone's axis at several heights above the girdle and
followed outward every degree. Metal inside the outline at such a height keeps the stone from
lifting there. Arcs are good to half a step (0.5 degree), heights to one step of `depth`.
"""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from .arcs import Arc, Held, held, runs
from .kinds import Flags, Floats, Ints
from .polar import Crossings, outward
from .skin import Skin
from .stone import Stone, around

ROUND = 360
LEVELS = 8
BITE = 0.01


@dataclass(frozen=True)
class Cover:
    """Metal over the crown edge: start and end in degrees round the stone, height mm it reaches
    above the girdle (within the depth looked at), bite mm it laps over the outline, feature."""

    start: float
    end: float
    height: float
    bite: float
    owner: int


@dataclass(frozen=True)
class Contacts:
    """covers: metal over the crown edge; side: arcs with metal against the girdle;
    held: judged by the covers; kept: judged by the sides (cannot slide)."""

    covers: tuple[Cover, ...]
    side: tuple[Arc, ...]
    held: Held
    kept: Held


def contacts(
    stone: Stone, skin: Skin, depth: float = 0.6, bite: float = BITE, touch: float = 0.05
) -> Contacts:
    """Contacts of a stone with the metal.

    `depth` mm above the girdle is looked at; laps of less than `bite` mm do not count; metal
    within `touch` mm of the girdle outline is against it.
    """
    low, high = stone.girdle
    above = high + depth * (np.arange(LEVELS) + 0.25) / LEVELS
    heights = np.r_[(low + high) / 2, above]
    rim = stone.radius(np.arange(ROUND) * 360.0 / ROUND)
    corners, face = around(
        stone, skin, float(rim.max()) + touch, float(heights[0]), high + depth
    )
    met = outward(corners, heights, ROUND)
    lap, by = _laps(met, np.tile(rim, len(heights)))
    over, by = lap.reshape(-1, ROUND)[1:], by.reshape(-1, ROUND)[1:]
    owner = np.r_[skin.owner[face], -1]
    covers = tuple(
        _cover(arc, part, over, owner[by], above - high, bite)
        for arc, part in runs(np.asarray((over >= bite).any(axis=0)))
    )
    side = tuple(arc for arc, _ in runs(_beside(met, rim, touch)))
    return Contacts(covers, side, held((c.start, c.end) for c in covers), held(side))


def _laps(met: Crossings, rim: Floats) -> tuple[Floats, Ints]:
    """How far metal laps inside the outline on each line (0 if not), and by which face."""
    at = rim - 1e-3
    before = met.last_before(at)
    inside = met.within_metal(at)
    start = np.where(before >= 0, met.far[before], 0.0) if len(met.far) else np.zeros(len(rim))
    face = np.where(before >= 0, met.face[before], -1) if len(met.far) else before
    return np.where(inside, rim - start, 0.0), np.where(inside, face, -1)


def _cover(
    arc: Arc, part: list[int], lap: Floats, owner: Ints, heights: Floats, bite: float
) -> Cover:
    """One arc of cover."""
    some, who = lap[:, part], owner[:, part]
    level = int(np.flatnonzero((some >= bite).any(axis=1)).max())
    names, votes = np.unique(who[some >= bite], return_counts=True)
    return Cover(
        arc[0], arc[1], float(heights[level]), float(some.max()), int(names[np.argmax(votes)])
    )


def _beside(met: Crossings, rim: Floats, touch: float) -> Flags:
    """Directions in which metal is against the girdle at its middle height."""
    keep = met.line < len(rim)
    part = Crossings(
        met.line[keep], met.far[keep], met.leaving[keep], met.square[keep], met.face[keep]
    )
    return part.within_metal(rim + touch) | part.within_metal(rim - 1e-3)
