"""no-bottom: a turned wall that begins and ends off its axis, wide open below as above."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..geometry.surfaces import Turned
from ..judging.figure_rule import Reading

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece

WIDE = 0.5  # of its width: a hole below narrower than this is a bore that was meant
LEVEL = 1e-6  # mm, within which spots of a profile are at its foot


def check(piece: Piece) -> Iterator[Reading]:
    for feature in piece.features:
        face = feature.surface
        walled = feature.body is not None and piece.call(feature.index).given("wall")
        if not isinstance(face, Turned) or not walled:
            continue
        profile = face.profile
        ends = profile[np.abs(profile[:, 1] - feature.low) < LEVEL, 0]
        inside, outside = float(ends.min()), float(ends.max())
        bored = inside < WIDE * float(profile[:, 0].max())
        if profile[:, 0].min() <= LEVEL or bored or _closed(piece, feature, inside):
            continue
        foot = {"low": f"{feature.low:g}", "outside": f"{outside:g}"}
        yield Reading(feature.index, 2 * inside, feature, words=foot)


def _closed(piece: Piece, feature: Feature, inside: float) -> bool:
    """Whether a stone lies in it, or other metal on its axis between its ends."""
    home = fr.inverse(feature.frames[0])[None]
    for frame in piece.stones.frames:
        if np.hypot(*fr.compose(home, frame[None])[0, :2, 3]) < inside:
            return True
    for solid in piece.plan_solids:
        for frame in solid.frames if solid.feature != feature.index and not solid.cut else ():
            own = fr.apply(fr.compose(home, frame[None])[0], piece.points_of(solid))
            low, high = own.min(axis=0), own.max(axis=0)
            about = (low[:2] < 0).all() and (high[:2] > 0).all()
            if about and low[2] < feature.high and high[2] > feature.low:
                return True
    return False
