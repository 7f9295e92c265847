"""How several sprues of a piece come together: bent rods to the foot of the first, at the stem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..measures.closest import nearest
from ..measures.kinds import Floats, frame_of
from ..measures.skin import Skin
from .sprues import Sprue

STEP = 0.6  # mm between spots of a rod at which it is seen to clear the piece
BENT = 24  # straight bits of a rod that goes round
CLEAR = 1.0  # mm of air between it and the piece


@dataclass(frozen=True, eq=False)
class Join:
    """A rod from the end of one sprue to the foot of the first: ``spots`` (k, 3) mm, ``across`` mm."""

    spots: Floats
    across: float

    @property
    def volume(self) -> float:
        """Mm3."""
        long = np.linalg.norm(np.diff(self.spots, axis=0), axis=1).sum()
        return float(np.pi / 4 * self.across**2 * long)


def joins(skin: Skin, sprues: Sequence[Sprue]) -> tuple[Join, ...]:
    """The rods of all sprues but the first: straight where the piece is not in the way, else round it."""
    ends = [sprue.at + sprue.long * sprue.way for sprue in sprues]
    found = []
    for sprue, end in zip(sprues[1:], ends[1:], strict=True):
        straight = np.stack((end, ends[0]))
        free = _clear(skin, straight, sprue.across / 2)
        found.append(Join(straight if free else _round(skin, end, ends[0], sprue.across), sprue.across))
    return tuple(found)


def _clear(skin: Skin, spots: Floats, radius: float) -> bool:
    long = float(np.linalg.norm(spots[1] - spots[0]))
    share = np.linspace(0.0, 1.0, max(int(long / STEP), 2))[1:-1, None]
    return all(nearest(skin, spot)[0] > radius for spot in spots[0] + share * (spots[1] - spots[0]))


def _round(skin: Skin, start: Floats, end: Floats, across: float) -> Floats:
    """Round the ball that holds the piece, the shorter way."""
    low, high = skin.box
    middle = (low + high) / 2
    radius = float(np.linalg.norm(skin.points - middle, axis=1).max()) + across / 2 + CLEAR
    one, two = ((spot - middle) / np.linalg.norm(spot - middle) for spot in (start, end))
    aside = two - (two @ one) * one
    aside = frame_of(one)[0] if np.linalg.norm(aside) < 1e-6 else aside / np.linalg.norm(aside)
    turn = np.linspace(0.0, float(np.arctan2(two @ aside, two @ one)), BENT + 1)[:, None]
    arc = middle + radius * (np.cos(turn) * one + np.sin(turn) * aside)
    return np.concatenate((start[None], arc, end[None]))
