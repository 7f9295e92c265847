"""Rims of flat bodies, rounded or bevelled: the clauses read and judged."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NoReturn

from ...lang.bench import Call
from ..bench.plan import Shape
from ..geometry.outlines import Outline, trace_all


@dataclass(frozen=True)
class Rim:
    """How far the rim of a body is taken off (mm), rounded or straight, and which rims."""

    by: float = 0.0
    round: bool = True
    rims: str = "front"

    @property
    def front(self) -> float:
        """How far in the face begins, mm."""
        return 0.0 if self.rims == "back" else self.by

    @property
    def back(self) -> float:
        """How far in the back begins, mm."""
        return 0.0 if self.rims == "front" else self.by


SHARP = Rim()
ROUND_STEPS = 12  # chords to a quarter round: at 0.5 mm within a micron


def rim_taken(call: Call, outline: Outline, high: float) -> Rim:
    """What the line says about its rims. Raises Refused when it does not fit."""
    key = next((key for key in ("soften", "bevel") if call.given(key)), None)
    if key is None:
        return SHARP
    rim = Rim(call.get(key), key == "soften", call.get("rims"))
    tall = high / 2 if rim.rims == "both" else high - 0.01
    if rim.by > tall + 1e-9:
        said = f"takes more than a body {high:g} mm high has"
        _too_deep(call, rim, said, f"{tall:g} mm", tall, ", or make it thicker")
    from ..shapes.insets import deepest

    most = deepest(trace_all(outline), outline, rim.by * 1.02)
    if rim.by > most * 0.999:
        said = "leaves no face where the outline bends or comes to a point"
        _too_deep(call, rim, said, f"under {most:.2g} mm for this outline", 0.98 * most)
    return rim


def wall_too_thin(call: Call, rim: Rim, wall: float) -> None:
    """A tube's ends are taken off inside and outside, so half its wall is the most."""
    if rim.by > wall / 2 + 1e-9:
        said, limit = "inside and outside takes more than the wall has", f"{wall / 2:g} mm, half the wall"
        _too_deep(call, rim, said, limit, wall / 2, ", or make the wall thicker")


def _too_deep(call: Call, rim: Rim, said: str, limit: str, most: float, other: str = "") -> NoReturn:
    """Refuses a rim that is taken off too far: ``most`` mm, it may."""
    key = "soften" if rim.round else "bevel"
    too_deep(call, key, f"{key} {rim.by:g} mm {said}", limit, most, other)


def too_deep(call: Call, key: str, told: str, limit: str, most: float, other: str = "") -> NoReturn:
    """Refuses what ``key`` takes off, as ``told``, and tells the figure that fits under ``most`` mm."""
    fits = math.floor(100 * most + 1e-6) / 100
    remedy = f"write {key} {fits:g} mm{other}" if fits else f"leave {key} out{other}"
    call.refuse("rim-too-deep", told, key, seen=f"{call.get(key):g} mm", limit=limit, remedy=remedy)


def tube_profile(inside: float, outside: float, high: float, rim: Rim) -> tuple[tuple[float, float], ...]:
    """The section of a tube as (from the axis, height), counter-clockwise, from its two radii."""
    corners = (
        (inside, 0.0, 1, 1, rim.back),
        (outside, 0.0, -1, 1, rim.back),
        (outside, high, -1, -1, rim.front),
        (inside, high, 1, -1, rim.front),
    )
    turns = range(ROUND_STEPS + 1) if rim.round else (0, ROUND_STEPS)
    profile: list[tuple[float, float]] = []
    for k, (x, z, right, up, by) in enumerate(corners):
        if by <= 0:
            profile.append((x, z))
            continue
        angles = [math.radians(90 * turn / ROUND_STEPS) for turn in turns]
        spots = [(x + right * by * (1 - math.sin(a)), z + up * by * (1 - math.cos(a))) for a in angles]
        profile += spots if k % 2 else spots[::-1]
    return tuple(dict.fromkeys((round(x, 9), round(z, 9)) for x, z in profile))


def straight_body(outline: Outline, high: float, rim: Rim) -> Shape:
    """The shape of a straight-sided body standing on its ground."""
    if rim.by <= 0:
        return Shape("prism", (outline, 0.0, high))
    return Shape("softened", (outline, 0.0, high, rim.by, rim.round, rim.rims))
