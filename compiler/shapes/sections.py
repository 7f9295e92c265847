"""Sections of shanks as chains of smooth curves, so that any number of points lies on them truly.

A section lies in the plane of (radius, along the finger), mm, and runs counter-clockwise."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.outlines import segments

# A smooth curve: shares (k,) from 0 to 1 give points (k, 2).
Curve = Callable[[np.ndarray], np.ndarray]
EDGE = {"flat": 1.0, "d": 0.5, "court": 0.5, "half-round": 0.0, "knife-edge": 0.5}
# How far the inside of a court or comfort band falls away, as a share of its thickness.
BELLY = 0.15
# Points that follow a face of the outside: within a micron on the widest band.
FACE_POINTS = 401


@dataclass(frozen=True)
class Profile:
    """What a shank's section is made from. ``soften`` mm rounds the outer edges of a flat one, ``bevel``
    takes them off straight. A section on its way ``toward`` another is a share of it: (name, share). ``edge``
    is the share of its thickness that it keeps at its edges, where it is not that of its name."""

    name: str = "flat"
    comfort: bool = False
    soften: float = 0.0
    bevel: bool = False
    toward: tuple[str, float] | None = None
    edge: float | None = None


# The least and most of its thickness that the edges of a section on its way to another keep.
WAY = (0.02, 0.999)


def edge_of(profile: Profile) -> float:
    """The share of its thickness that a section has at its edges."""
    own = EDGE[profile.name] if profile.edge is None else profile.edge
    if profile.toward is None:
        return own
    other, share = profile.toward
    return min(max(own + (EDGE[other] - own) * share, WAY[0]), WAY[1])


def belly_of(profile: Profile, thick: float) -> float:
    """How far the inside falls away at the edges, mm."""
    own = BELLY * thick * _bellied(profile.name, profile.comfort)
    if profile.toward is None:
        return own
    other, share = profile.toward
    return own + (BELLY * thick * _bellied(other, profile.comfort) - own) * share


def _bellied(name: str, comfort: bool) -> bool:
    return name != "half-round" and (comfort or name == "court")


def curves(profile: Profile, inner: float, wide: float, thick: float) -> list[Curve]:
    """The curves of a section whose inside (at its middle) is at radius ``inner``."""
    half, belly = wide / 2, belly_of(profile, thick)
    low = inner + belly
    side = low + edge_of(profile) * (thick - belly)
    chain = outer_curves(profile, inner, wide, thick)
    if side - low > 1e-9:
        chain.append(_run(chain[-1](np.ones(1))[0], (low, half)))
    inside = _arc(low, half, -belly) if belly > 1e-9 else _run((low, -half), (low, half))
    chain.append(lambda t: inside(1.0 - t))
    if side - low > 1e-9:
        chain.append(_run((low, -half), chain[0](np.zeros(1))[0]))
    return chain


def outer_curves(profile: Profile, inner: float, wide: float, thick: float) -> list[Curve]:
    """The curves of a section's outside, from edge to edge."""
    belly = belly_of(profile, thick)
    side = inner + belly + edge_of(profile) * (thick - belly)
    return _outside(profile, side, inner + thick, wide / 2)


def outside(profile: Profile, inner: float, wide: float, thick: float) -> list[np.ndarray]:
    """The faces of a section's outside, fine runs (n, 2) edge to edge, without rounded or bevelled edges."""
    chain = outer_curves(profile, inner, wide, thick)
    if len(chain) > 1 and profile.name == "flat":
        chain = chain[1:2] if len(chain) == 3 else [_run((inner + thick, 0.0), (inner + thick, 0.0))]
    return [curve(np.linspace(0.0, 1.0, FACE_POINTS)) for curve in chain]


def _outside(profile: Profile, side: float, outer: float, half: float) -> list[Curve]:
    if profile.name == "knife-edge":
        return [_run((side, -half), (outer, 0.0)), _run((outer, 0.0), (side, half))]
    if profile.name != "flat" or profile.toward is not None:
        return [_arc(side, half, outer - side)]
    by = profile.soften
    if by <= 0:
        return [_run((outer, -half), (outer, half))]
    corner: Callable[[float], Curve] = (
        (lambda sign: _run(*_bevel(outer, half, by, sign)))
        if profile.bevel
        else (lambda sign: _corner(outer, half, by, sign))
    )
    top = _run((outer, -half + by), (outer, half - by))
    return [corner(-1.0), top, corner(1.0)] if half - by > 1e-9 else [corner(-1.0), corner(1.0)]


def _bevel(outer: float, half: float, by: float, sign: float) -> list[tuple[float, float]]:
    ends = [(outer - by, sign * half), (outer, sign * (half - by))]
    return ends if sign < 0 else ends[::-1]


def _corner(outer: float, half: float, by: float, sign: float) -> Curve:
    centre = np.array([outer - by, sign * (half - by)])
    start = -math.pi / 2 if sign < 0 else 0.0

    def curve(t: np.ndarray) -> np.ndarray:
        angle = start + t * (math.pi / 2)
        return centre + by * np.stack([np.cos(angle), np.sin(angle)], axis=1)

    return curve


def _run(start: Sequence[float] | np.ndarray, end: Sequence[float] | np.ndarray) -> Curve:
    a, b = np.array(start, dtype=float), np.array(end, dtype=float)
    return lambda t: a + t[:, None] * (b - a)


def _arc(base: float, half: float, rise: float) -> Curve:
    """From (base, -half) to (base, half) by an arc whose middle lies ``rise`` further out; by
    half an ellipse, as filed, where a circle would turn back."""
    sign, tall = math.copysign(1.0, rise), abs(rise)
    if tall > half:
        def oval(t: np.ndarray) -> np.ndarray:
            angle = math.pi * (t - 0.5)
            return np.stack([base + rise * np.cos(angle), half * np.sin(angle)], axis=1)

        return oval
    radius = (half**2 + tall**2) / (2 * tall)
    spread = math.asin(min(1.0, half / radius))

    def circle(t: np.ndarray) -> np.ndarray:
        angle = spread * (2 * t - 1)
        bulge = radius * np.cos(angle) - (radius - tall)
        return np.stack([base + sign * bulge, radius * np.sin(angle)], axis=1)

    return circle


def counts(chain: list[Curve], tolerance: float) -> list[int]:
    """Chords each curve needs to stay within ``tolerance`` mm, read off its bend."""
    found = []
    for curve in chain:
        points = curve(np.linspace(0.0, 1.0, 9))
        steps = np.diff(points, axis=0)
        way = np.arctan2(steps[:, 1], steps[:, 0])
        turn = np.abs((np.diff(way) + math.pi) % (2 * math.pi) - math.pi)
        if turn.sum() < 1e-9:
            found.append(1)
            continue
        # The sharpest stretch decides; a turn over a whole curve is 9/8 of what is seen.
        radius = float((np.linalg.norm(steps, axis=1)[1:] / np.maximum(turn, 1e-12)).max())
        found.append(segments(radius, tolerance, math.degrees(float(turn.sum()) * 8 / 7)))
    return found


def traced(chain: list[Curve], numbers: list[int]) -> np.ndarray:
    """Points (sum of ``numbers``, 2) round the section, each curve with its number of chords."""
    return np.concatenate([curve(np.arange(n) / n) for curve, n in zip(chain, numbers, strict=True)])


def moment(section: np.ndarray) -> float:
    """First moment of a polygon (n, 2) about the axis radius = 0, mm3 (for Pappus' theorem)."""
    r, z = section[:, 0], section[:, 1]
    r1, z1 = np.roll(r, -1), np.roll(z, -1)
    return float(abs(((r + r1) * (r * z1 - r1 * z)).sum()) / 6.0)
