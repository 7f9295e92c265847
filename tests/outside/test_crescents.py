"""Crescents against two circles cut by hand.

Source: area between curves by Simpson's rule and the tangency of circles (Bronshtein and
Semendyayev, Handbook of Mathematics, from memory), from the four figures of the line alone: the
inner round is found by bisection, not by the closed form the compiler uses."""

from __future__ import annotations

from math import hypot, pi, sqrt

import numpy as np
import pytest
from texts import built, volume

THICK = 1.5
FIGURES = ((14.0, 4.0, 11.2, 0.5), (20.0, 6.0, 12.0, 0.5), (30.0, 8.0, 24.0, 0.6), (26.0, 9.0, 8.0, 0.8))


def said(wide: float, belly: float, apart: float, corner: float) -> str:
    return f"plate moon: crescent {wide} x {belly} mm, horns {apart} mm, corner {corner} mm, thick {THICK} mm"


def rounds(wide: float, belly: float, apart: float, corner: float) -> tuple[float, tuple[float, float]]:
    """How far right the inner round has its middle, and where the upper horn's end has its own, mm."""
    outer, y = wide / 2, apart / 2 + corner
    tip = sqrt((outer - corner) ** 2 - y**2), y
    low, high = 1e-6, 1e4
    for _ in range(200):  # the larger the inner round, the farther it stays from the horn's end
        off = (low + high) / 2
        left = hypot(tip[0] - off, y) - corner - (outer - belly + off)
        low, high = (off, high) if left > 0 else (low, off)
    return off, tip


def area(wide: float, belly: float, apart: float, corner: float) -> float:
    """Between the rounds to where the horn's end touches either, and that end itself, mm2: counted on a
    fine grid of the upper half."""
    outer, (off, tip) = wide / 2, rounds(wide, belly, apart, corner)
    inner = outer - belly + off
    step = 0.004
    x, y = np.meshgrid(np.arange(-outer, outer, step) + step / 2, np.arange(0, outer, step) + step / 2)
    moon = (np.hypot(x, y) < outer) & (np.hypot(x - off, y) > inner)
    ends = [np.array(tip) + corner * np.array(way) for way in (
        np.array(tip) / hypot(*tip), np.array((off - tip[0], -tip[1])) / hypot(off - tip[0], tip[1])
    )]  # fmt: skip
    (ax, ay), (bx, by) = ends
    side = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
    belly_side = (bx - ax) * (0.0 - ay) - (by - ay) * (-outer - ax)
    near_belly = side * belly_side > 0
    horn = np.hypot(x - tip[0], y - tip[1]) < corner
    return 2 * step**2 * float(np.count_nonzero(moon & near_belly | horn))


@pytest.mark.parametrize("figures", FIGURES)
def test_a_crescent_holds_the_metal_between_its_rounds(figures: tuple[float, ...]) -> None:
    assert volume(said(*figures)) == pytest.approx(THICK * area(*figures), rel=0.002)


@pytest.mark.parametrize("figures", FIGURES)
def test_its_horns_stand_as_far_apart_as_said_and_its_belly_is_as_wide(figures: tuple[float, ...]) -> None:
    wide, belly, apart, corner = figures
    (part,) = built(said(*figures)).parts
    x, y, _ = np.asarray(part.points).T
    assert np.ptp(y) == pytest.approx(wide, rel=1e-3) and x.min() == pytest.approx(-wide / 2, rel=1e-3)
    at_middle = np.abs(y) < 0.03 * wide
    assert x[at_middle].max() == pytest.approx(belly - wide / 2, abs=0.05)
    _off, tip = rounds(*figures)
    near_tip = np.hypot(x - tip[0], y - tip[1]) < corner + 1e-2
    assert 2 * y[near_tip].min() >= apart - 0.05


@pytest.mark.parametrize("degrees", (20, 60, 110))
def test_a_band_open_by_an_angle_keeps_the_rest_of_its_round(degrees: int) -> None:
    whole = pi * (10.65**2 - 8.65**2) * 4.0
    text = f"band b: inside 17.3 mm, wide 4 mm, thick 2 mm, profile flat, open {degrees} deg"
    assert volume(text) == pytest.approx(whole * (1 - degrees / 360), rel=0.0005)
