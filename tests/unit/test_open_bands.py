"""Bands that stand open at the back or at the head: places and volumes against the plain geometry of a ring of
rectangular section with a wedge taken out (Pappus' theorem)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import built, codes, laid, made, volume

BAND = "band shank: inside 18 mm, wide 3 mm, thick 2 mm, open 8 mm{more}\n"
GAP = math.asin(8 / 18)  # half the opening, radians, at the inside


@pytest.mark.parametrize("more, toward", [("", -1), (", at-head", 1)])
def test_its_ends_are_those_of_its_metal(more: str, toward: int):
    shank = laid(BAND.format(more=more), "shank")
    right, left = shank.look("ends").frames
    at = 10 * np.array([math.sin(GAP), 0.0, toward * math.cos(GAP)])
    assert right[:, 3] == pytest.approx(at, abs=1e-6)
    assert left[:, 3] == pytest.approx(at * (-1, 1, 1), abs=1e-6)
    for frame in (right, left):  # x points away from the metal into the opening, z away from the finger
        assert frame[0, 0] * frame[0, 3] < 0
        assert frame[:, 2] @ frame[:, 3] == pytest.approx(10.0)


@pytest.mark.parametrize("more", ["", ", at-head"])
def test_its_volume_is_that_of_a_ring_less_its_opening(more: str):
    whole = 2 * math.pi * 10 * 2 * 3
    assert volume(BAND.format(more=more)) == pytest.approx(whole * (1 - GAP / math.pi), rel=1e-4)


def test_one_open_at_its_head_is_open_there_and_tapers_to_its_back():
    (part,) = built(BAND.format(more=", at-head, taper 2 x 1.5 mm")).parts
    x, y, z = part.points.T
    assert np.abs(x[(z > 0) & (np.abs(x) < 5)]).min() == pytest.approx(4.0, abs=0.01)
    assert np.ptp(y[z < -10.49]) == pytest.approx(2.0, abs=0.01)


def test_what_is_spread_round_it_keeps_off_the_opening():
    text = BAND.format(more=", at-head") + "ball dots: upon shank, every 2 mm, across 1 mm\n"
    spots = laid(text, "dots").frames[:, :, 3]
    assert len(spots) > 20 and np.abs(np.arctan2(spots[:, 0], spots[:, 2])).min() > GAP
    assert laid(BAND.format(more="") + text.splitlines()[1], "dots").frames[:, 2, 3].max() > 10.9


def test_a_ball_at_an_end_moves_out_from_there():
    for out in (0.0, 1.2):
        ball = f"ball end: across 4 mm, at pick(ends of shank, 1), out {out} mm\n"
        middle = laid(BAND.format(more=", at-head") + ball, "end").look("centre").frames[0, :, 3]
        assert np.linalg.norm(middle) == pytest.approx(10 + out, abs=1e-6)


def test_at_head_says_nothing_of_a_closed_band():
    text = "band shank: inside 18 mm, wide 3 mm, thick 2 mm, at-head\n"
    assert codes(made(text))


def test_a_stone_held_by_the_two_ends_is_not_past_an_edge():
    """Tension: a groove in both ends laps over the girdle (common practice, no source)."""
    text = (
        "band shank: finger us 6, wide 4 mm, thick 3.6 mm, open 3.2 mm, at-head\n"
        "stone centre: round 5 mm, gem diamond, at top of shank, inward 1 mm\n"
        "seat: for centre, in shank, mouth 0.4 mm\n"
    )
    assert codes(made(text)) == []
    whole = text.replace(", open 3.2 mm, at-head", "")
    assert "stone-near-edge" in codes(made(whole))
