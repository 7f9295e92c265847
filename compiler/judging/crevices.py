"""Wedges of air beside the joint of two parts: they fill, and are no slits."""

from __future__ import annotations

import numpy as np

from ..measures.kinds import Flags, Floats, Ints, length, spread
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
