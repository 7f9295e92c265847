"""How a piece hangs: elementary statics of a body on one ring or two.

Axes: x to the right, y up, z towards the onlooker. At rest the centre of mass is straight below the support.
The rings are taken as free of friction and the chain as pulling straight up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot
from typing import Literal

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
    left, right = order[0], order[-1]
    a, b = supports[left], supports[right]
    if left == right or hypot(*(q - p for p, q in zip(a, b, strict=True))) < 1e-9:
        shares = [1.0 / len(supports)] * len(supports)
        return _on_one(centre, a, shares)
    shares = [0.0] * len(supports)
    return _on_two(centre, a, b, shares, left, right)


def _on_one(centre: Sequence[float], ring: Sequence[float], shares: Sequence[float]) -> Hang:
    """One ring, free to swing both ways."""
    aside, drop, ahead = centre[0] - ring[0], ring[1] - centre[1], centre[2] - ring[2]
    forward, side = degrees(atan2(ahead, drop)), degrees(atan2(aside, drop))
    if hypot(aside, drop) < ASIDE * abs(ahead):
        side = 0.0  # the weight lies before the ring or behind: it turns about no way of its own plane
    return Hang("one", forward, side, drop <= 0, tuple(shares), False)


def _on_two(
    centre: Sequence[float], a: Sequence[float], b: Sequence[float], shares: list[float], left: int,
    right: int,
) -> Hang:
    """Two rings held level: the body turns about the line through them and no other way."""
    line = [q - p for p, q in zip(a, b, strict=True)]
    size = hypot(*line)
    go = [g - p for p, g in zip(a, centre, strict=True)]
    foot = sum(u * v for u, v in zip(line, go, strict=True)) / size
    off = [v - foot * u / size for u, v in zip(line, go, strict=True)]
    # Down, square to the line: in the plane of the line and the body's own down.
    rise = line[1] / size
    down = [rise * u / size for u in line]
    down[1] -= 1.0
    scale = hypot(*down)
    flat = hypot(line[0], line[2])
    if scale < 1e-9:
        # The rings are one above the other: level means a quarter turn, down is along x.
        down, scale = [1.0, 0.0, 0.0], 1.0
    drop = sum(u * v for u, v in zip(down, off, strict=True)) / scale
    ahead = _ahead(line, down, off, size, scale)
    shares[left], shares[right] = 1.0 - foot / size, foot / size
    lifts = not 0.0 < foot < size
    tilt = degrees(atan2(line[1], flat))
    return Hang("two", degrees(atan2(ahead, drop)), tilt, drop <= 0, tuple(shares), lifts)


def _ahead(
    line: Sequence[float], down: Sequence[float], off: Sequence[float], size: float, scale: float
) -> float:
    """How far the centre lies towards the onlooker, square to the line of rings and to down."""
    front = (
        down[1] * line[2] - down[2] * line[1],
        down[2] * line[0] - down[0] * line[2],
        down[0] * line[1] - down[1] * line[0],
    )
    return sum(u * v for u, v in zip(front, off, strict=True)) / (size * scale)
