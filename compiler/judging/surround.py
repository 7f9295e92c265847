"""The metal round set stones: over their girdles, beside them, inside them.

Method. The metal near a stone is cut square to the stone's axis at a few heights and followed outward every
`STEP` degrees. Lengths along the lines are exact for the mesh; arcs are good to one step. Many stones are
worked on at a time. Angles are degrees round the stone, lengths mm."""

from __future__ import annotations

import numpy as np

from ..measures.arcs import held, longest_gap
from ..measures.kinds import Flags
from ..measures.skin import Skin
from ..measures.stone import Stone
from .forms import STEP, Form, Lap, Surround
from .lap_rays import LapRays
from .stone_rays import NEAR, OfAnother

TOOL = 0.6  # room behind a prong is looked at so far
TALL = 1.0  # metal is followed so far above the table
TOGETHER = 64  # stones worked on at a time; bounds memory


def surrounds(
    forms: list[Form], stones: list[Stone], skin: Skin, seats: Flags, holds: Flags, adorns: Flags,
    wire: float, of_another: OfAnother,
) -> list[Surround]:
    """Measure the metal round each of the ``stones``.

    ``seats``, ``holds`` and ``adorns`` (m + 1,) flag the faces of seats, of what may hold a stone, and of
    what adorns a rim and holds none (the last is for no face); ``wire`` is the thickest wire that holds one,
    mm; ``of_another`` flags metal of features at places (n, 3) in stones that was made to hold another
    stone."""
    found: list[Surround] = []
    room = max(NEAR, wire + TOOL)
    for first in range(0, len(stones), TOGETHER):
        some = slice(first, first + TOGETHER)
        boxes = np.array([
            stone.box(float(form.rim.max()) + room, float(form.heights.min()), form.top + TALL)
            for form, stone in zip(forms[some], stones[some], strict=True)
        ])
        row, face = skin.grid.near(boxes[:, 0], boxes[:, 1])
        rays = LapRays(forms[some], stones[some], skin, row, face, seats, holds, adorns)
        found += _of_many(rays, first, of_another)
    return found


def _of_many(rays: LapRays, first: int, of_another: OfAnother) -> list[Surround]:
    """All that is round each of some stones, of which that is the first."""
    laps, open_arcs = rays.laps()
    free, push_free = STEP * longest_gap(open_arcs), rays.push_free()
    beside, broken = rays.walls()
    hem, inside, under = rays.hem(), rays.inside(first, of_another), rays.under()
    return [
        Surround(
            laps[k], float(free[k]), _grip(laps[k]), float(push_free[k]), beside[k],
            *broken[k], hem[k], inside[k], under[k],
        )
        for k in range(len(rays.stones))
    ]  # fmt: skip


def _grip(laps: tuple[Lap, ...]) -> float:
    """The largest lap such that the laps of at least as much still hold."""
    for size in sorted({lap.over for lap in laps}, reverse=True):
        if held((lap.start, lap.end) for lap in laps if lap.over >= size).is_held:
            return size
    return 0.0
