"""How a piece hangs: elementary statics of a body on one ring or two.

Axes: x to the right, y up, z towards the onlooker. At rest the centre of mass is straight below the support.
The rings are taken as free of friction and the chain as pulling straight up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot
from typing import Literal

import numpy as np

from .kinds import Floats

ASIDE = 0.1  # of how far the weight lies before a ring or behind


@dataclass(frozen=True)
class Hang:
    """How it hangs.

    tilt_forward: degrees the top leans to the onlooker (+; the centre of mass lies in front of the support)
    or away (-). tilt_side: degrees the piece turns in its own plane, + when its right side drops (one ring:
    the centre of mass is right of the ring; two rings: the right ring is the higher on the body). flips: the
    support is not above the centre of mass, so the piece turns over. shares: part of the load on each
    support, adding to 1. lifts: the centre of mass is not between two rings, so one goes slack (its share is
    then negative)."""

    kind: Literal["one", "two"]
    tilt_forward: float
    tilt_side: float
    flips: bool
    shares: tuple[float, ...]
    lifts: bool

    @property
    def off(self) -> float:
        """How far it hangs from as it is drawn, either way, degrees; half a turn where it turns over."""
        return 180.0 if self.flips else max(abs(self.tilt_forward), abs(self.tilt_side))


def hang(centre: Sequence[float], supports: Sequence[Sequence[float]]) -> Hang:
    """Statics of a body with its centre of mass at `centre` (3,) mm on supports (3,) mm each.

    With more than two supports the outermost two along x carry it. No support is our own mistake: ValueError.
    """
    if not supports:
        raise ValueError("a piece that hangs needs a support")
    order = sorted(range(len(supports)), key=lambda i: (supports[i][0], i))
    a, b, middle = (np.array(spot, dtype=float) for spot in (supports[order[0]], supports[order[-1]], centre))
    if np.linalg.norm(b - a) < 1e-9:
        return _on_one(middle - a, (1.0 / len(supports),) * len(supports))
    shares = [0.0] * len(supports)
    line, go = b - a, middle - a
    foot = float(line @ go / (line @ line))
    shares[order[0]], shares[order[-1]] = 1.0 - foot, foot
    return _on_two(line, go - foot * line, tuple(shares), not 0.0 < foot < 1.0)


def _on_one(go: Floats, shares: tuple[float, ...]) -> Hang:
    """One ring, free to swing both ways; ``go`` (3,) leads from it to the centre of mass."""
    aside, rise, ahead = go.tolist()
    forward, side = degrees(atan2(ahead, -rise)), degrees(atan2(aside, -rise))
    if hypot(aside, rise) < ASIDE * abs(ahead):
        side = 0.0  # the weight lies before the ring or behind: it turns about no way of its own plane
    return Hang("one", forward, side, rise >= 0, shares, False)


def _on_two(line: Floats, off: Floats, shares: tuple[float, ...], lifts: bool) -> Hang:
    """Two rings held level: the body turns about the ``line`` (3,) through them and no other way; the centre
    of mass lies ``off`` it, (3,)."""
    size = np.linalg.norm(line)
    # Down, square to the line: in the plane of the line and the body's own down.
    down = line[1] / size**2 * line - (0.0, 1.0, 0.0)
    scale = float(np.linalg.norm(down))
    if scale < 1e-9:
        # The rings are one above the other: level means a quarter turn, down is along x.
        down, scale = np.array([1.0, 0.0, 0.0]), 1.0
    drop, ahead = down @ off / scale, np.cross(down, line) @ off / (size * scale)
    tilt = degrees(atan2(line[1], hypot(line[0], line[2])))
    return Hang("two", degrees(atan2(ahead, drop)), tilt, bool(drop <= 0), shares, lifts)
