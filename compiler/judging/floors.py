"""The thinnest metal straight below the seat of each stone."""

from __future__ import annotations

import numpy as np

from ..measures.kinds import Flags, Floats
from ..measures.skin import Skin
from ..measures.stone import Stone
from .forms import COUNT, STEP, Form, Spot, place_of

RINGS, SPOKES = 2, 18
EDGE = 0.006  # mm beyond the edge of the light hole, where its innermost ring lies


def floors(
    forms: list[Form], stones: list[Stone], holes: list[float], skin: Skin, seats: Flags
) -> list[Spot | None]:
    """The thinnest metal straight below the seat of each stone, from its light hole (a share of
    its width) to its girdle; None where a stone has no seat below it.

    Lines every 20 degrees on `RINGS` rings; exact for the mesh along them.
    """
    if not stones:
        return []
    rows = [_spots_below(form, stone, hole) for form, stone, hole in
            zip(forms, stones, holes, strict=True)]  # fmt: skip
    start = np.concatenate(rows)
    way = np.repeat([-stone.turn[2] for stone in stones], RINGS * SPOKES, axis=0)
    far, into = skin.grid.cast(start, way, leaving=False)
    ok = (into >= 0) & seats[into]
    ok[ok] = (way[ok] * skin.normals[into[ok]]).sum(axis=1) < 0
    thick = np.full(len(start), np.inf)
    out = np.full(len(start), -1, dtype=np.int64)
    bottom = start[ok] + (far[ok, None] + 1e-6) * way[ok]
    thick[ok], out[ok] = skin.grid.cast(bottom, way[ok])
    thick[seats[out]] = np.inf  # the wall of a hole, or of another seat
    found: list[Spot | None] = []
    for k in range(len(stones)):
        part = slice(k * RINGS * SPOKES, (k + 1) * RINGS * SPOKES)
        i = part.start + int(np.argmin(thick[part]))
        spot = start[i] + (far[i] + thick[i] / 2) * way[i] if np.isfinite(thick[i]) else None
        found.append(
            None
            if spot is None
            else Spot(float(thick[i]), place_of(spot), int(skin.owner[out[i]]))
        )
    return found


def _spots_below(form: Form, stone: Stone, hole: float) -> Floats:
    """Starting points of a stone's lines, in the girdle plane, (RINGS * SPOKES, 3)."""
    way = np.arange(SPOKES) * COUNT // SPOKES
    turn = np.radians(way * STEP)
    spokes = np.stack((np.cos(turn), np.sin(turn)), axis=1) * form.rim[way, None]
    # The bore's facets stand out a little beyond the edge of the light hole.
    edge = np.minimum(min(hole, 0.9) + EDGE / form.rim[way, None], 0.97)
    flat = [(edge + share * (0.97 - edge)) * spokes for share in np.linspace(0.0, 1.0, RINGS)]
    level = np.full((RINGS * SPOKES, 1), form.low - 1e-3)
    return stone.world(np.concatenate((np.concatenate(flat), level), axis=1))
