"""A crescent: two circles, and a round end on either horn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...lang.bench import Call
from ..bench.feature import Lines, Places
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.outlines import Outline, fine_segments

HORN = 0.5  # mm, the radius of a horn's end that is not said: it fills in every alloy (see thin-wall)
APART = 0.8  # of its width, how far apart its horns stand where that is not said


@dataclass(frozen=True)
class Crescent:
    """Its outer round about the origin with the horns to the right, mm: radius of that and of the inner
    round, how far right the middle of that lies, radius and middle of the upper horn's end."""

    outer: float
    inner: float
    off: float
    horn: float
    tip: tuple[float, float]

    @property
    def outline(self) -> Outline:
        """Its edge: outer round, one horn, inner round, the other."""
        (x, y), horn = np.array(self.tip), self.horn
        up = np.array((x, y)) / math.hypot(x, y)
        into = np.array((self.off - x, -y)) / math.hypot(self.off - x, y)
        end = self.way(self.tip)
        outside, beyond, inside = ((x, y) + horn * way for way in (up, end, into))
        spots = [
            (*outside, "to"), (-self.outer, 0.0, "over"), (*_below(outside), "to"),
            (*_below(beyond), "over"), (*_below(inside), "to"), (self.off - self.inner, 0.0, "over"),
            (*inside, "to"), (*beyond, "over"),
        ]  # fmt: skip
        return "path", tuple((*np.round((x, y), 9).tolist(), 0.0, joint) for x, y, joint in spots)

    def way(self, spot: tuple[float, float]) -> np.ndarray:
        """The way (2,) of its belly at a spot of the middle line of its upper half, toward the horn."""
        out = np.array(spot) / math.hypot(*spot) + np.array((spot[0] - self.off, spot[1])) / math.hypot(
            spot[0] - self.off, spot[1]
        )
        return np.array((out[1], -out[0])) / math.hypot(*out)

    def belly(self, high: float, upright: bool) -> Lines:
        """The line midway between its rounds, from its lower horn, or its left, to the other: as far from
        one as from the other, so an ellipse about their middles."""
        wide = (self.outer + self.inner) / 2
        tall = math.sqrt(wide**2 - (self.off / 2) ** 2)
        first = math.atan2(self.tip[1] / tall, (self.tip[0] - self.off / 2) / wide)
        turn = np.linspace(2 * math.pi - first, first, fine_segments(wide) + 1)
        spots = np.stack([self.off / 2 + wide * np.cos(turn), tall * np.sin(turn), high + 0.0 * turn], axis=1)
        if upright:
            spots = spots[::-1] @ fr.turned(2, 90.0)[0, :, :3].T
        return Lines((Line(spots, np.tile((0.0, 0.0, 1.0), (len(spots), 1)), False),))

    def horns(self, high: float, upright: bool) -> Places:
        """The ends of its horns, x away from the metal: the upper, or the right one, and its mirror image."""
        way = self.way(self.tip)
        spot = np.array(self.tip) + self.horn * way
        if upright:  # its lower horn comes to stand on the right
            (x, y), (along, up) = spot, way
            spot, way = np.array((y, x)), np.array((up, along))
        turned = fr.turned(2, math.degrees(math.atan2(way[1], way[0])))
        first = fr.compose(fr.shifted(float(spot[0]), float(spot[1]), high), turned)
        return Places(np.concatenate([first, fr.compose(fr.flipped(0 if upright else 1), first)]))


def _below(spot: np.ndarray) -> np.ndarray:
    return spot * (1.0, -1.0)


def crescent(call: Call) -> Crescent:
    """The crescent a line gives. Raises Refused where its figures make none."""
    wide, belly = call.get("crescent")
    horn = call.get("corner", min(HORN, belly / 4))
    outer = wide / 2
    if not 2 * horn < belly < outer:
        call.refuse(
            "out-of-range", "so wide a belly leaves no crescent" if belly >= outer else
            "the belly is no wider than the ends of its horns", "crescent", seen=f"{belly:g} mm",
            limit=f"more than {2 * horn:g} mm, less than {outer:g} mm",
            remedy="make the belly narrower" if belly >= outer
            else "make the belly wider, or 'corner' smaller",
        )  # fmt: skip
    apart, most = call.get("horns", APART * wide), 2 * (outer - 2 * horn)
    if apart > most:
        call.refuse(
            "out-of-range", "horns so far apart lie outside its round", "horns", seen=f"{apart:g} mm",
            limit=f"{most:g} mm or less", remedy="let them stand nearer",
        )
    y = apart / 2 + horn
    x = math.sqrt(max((outer - horn) ** 2 - y**2, 0.0))
    least = outer - belly + horn
    off = ((outer - horn) ** 2 - least**2) / (2 * (least + x))
    return Crescent(outer, outer - belly + off, off, horn, (x, y))
