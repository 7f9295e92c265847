"""Bands that come to a point or bow at the head, against the strip they would be rolled from.

A band of even width and thickness has the volume of the strip: width times thickness times the length of
its middle line, laid flat (Pappus). The lengths are those of a straight line and of an arc of a parabola, as
handbooks give it (Machinery's Handbook, length of a parabolic arc; from memory)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import built, laid, made

from posy.compiler.metal.part import Part

INSIDE, WIDE, THICK = 17.0, 2.4, 1.8
MIDDLE = (INSIDE + THICK) / 2
BAND = f"band b: inside {INSIDE} mm, wide {WIDE} mm, thick {THICK} mm"


def _parabola(run: float, rise: float) -> float:
    """Length of half a parabola's arc, from its vertex ``run`` along and ``rise`` up."""
    root = math.hypot(run, 2 * rise)
    return root / 2 + run * run / (4 * rise) * math.log((2 * rise + root) / run)


def _unrolled(part: Part) -> tuple[np.ndarray, np.ndarray]:
    """Each point: how far round the outside from the head, and along the finger, mm."""
    x, y, z = part.points.T
    return np.arctan2(x, z) * (INSIDE / 2 + THICK), y


@pytest.mark.parametrize("vee", [1.5, 4.0, 8.0])
def test_a_pointed_band_weighs_what_its_strip_does(vee: float) -> None:
    """Each arm: straight over 60 degrees, then a parabola to level at 100 degrees, then level."""
    slope = vee / math.radians(80) / MIDDLE
    straight = math.hypot(1.0, slope) * math.radians(60) * MIDDLE
    bend = math.radians(40) * MIDDLE
    length = 2 * (straight + _parabola(bend, slope * bend / 2) + math.radians(80) * MIDDLE)
    (part,) = built(f"{BAND}, vee {vee} mm").parts
    assert part.volume == pytest.approx(WIDE * THICK * length, rel=2e-4)
    assert np.hypot(part.points[:, 0], part.points[:, 2]).min() == pytest.approx(INSIDE / 2, abs=0.006)


def test_a_waved_band_weighs_what_its_strip_does() -> None:
    angle = (np.arange(20000) + 0.5) * math.pi / 40000
    way = np.hypot(MIDDLE, 2.0 * np.sin(2 * angle))  # of 1 + cos(2 a), 2 mm high
    length = 2 * (way.sum() * math.pi / 40000 + math.pi / 2 * MIDDLE)
    (part,) = built(f"{BAND}, wave 2 mm").parts
    assert part.volume == pytest.approx(WIDE * THICK * length, rel=2e-4)


@pytest.mark.parametrize("profile", ["flat", "d", "court"])
def test_a_short_wave_goes_round_the_head_beside_it(profile: str) -> None:
    """A round head 6.5 mm across that touches the band at its crest touches it nowhere else, unrolled, and the
    band is level 7 mm on; between, it is as wide as told, square to its course."""
    text = f"{BAND}, profile {profile}, wave 2 mm, long 7 mm"
    (part,) = built(text).parts
    way, up = _unrolled(part)
    near = np.abs(way) < 12
    crest = up[np.abs(way) < 0.05].min()
    assert crest == pytest.approx(2.0 - WIDE / 2, abs=1e-3)
    assert np.hypot(way[near], up[near] - crest + 3.25).min() == pytest.approx(3.25, abs=2e-3)
    level = np.abs(way) > 7.0
    assert np.ptp(up[level]) == pytest.approx(WIDE, abs=1e-4)
    way *= MIDDLE / (INSIDE / 2 + THICK)  # half way through the metal
    half = 7 * MIDDLE / (INSIDE / 2 + THICK)
    edge = np.array([(one, up[np.abs(way - one) < 1e-6].min()) for one in way[near]])
    course = np.linspace(-16, 16, 6401)
    middle = np.stack([course, np.where(np.abs(course) < half, 1 + np.cos(np.pi * course / half), 0)], axis=1)
    apart = np.linalg.norm(edge[:, None] - middle[None], axis=2).min(axis=1)
    assert apart == pytest.approx(WIDE / 2, rel=0.015)


def test_stones_lie_along_a_short_wave() -> None:
    row = "stone s: round 1.2 mm, gem diamond, along around of b, number 7, gap 0.15 mm, inward 0.08 mm"
    made = built(f"{BAND}, profile d, wave 2 mm, long 7 mm\n{row}\nbead-set g: for s, in b")
    assert not [fault.text for fault in made.faults if fault.level.value != "hint"]
    spots = np.array([stone.frame[:, 3] for stone in made.stones])
    off = np.arctan2(spots[:, 0], spots[:, 2]) * (INSIDE / 2 + THICK)
    assert spots[:, 1] == pytest.approx(1 + np.cos(np.pi * off / 7), abs=5e-3)


def test_a_bow_too_short_for_the_band_is_told_the_least() -> None:
    (fault,) = made(f"{BAND}, wave 2 mm, long 2 mm").faults
    assert fault.code == "clauses-disagree"
    assert built(f"{BAND}, wave 2 mm, {fault.remedy.removeprefix('write ')}").parts


@pytest.mark.parametrize("profile", ["flat", "d", "court", "half-round", "knife-edge"])
def test_the_arms_of_a_pointed_band_meet_in_a_mitre(profile: str) -> None:
    """Cut through the point, the band is as much wider as a mitre is: by the cosine of the arm's slope. Both
    arms are mirror images, and the inside and outside corners lie in one plane."""
    (part,) = built(f"{BAND}, profile {profile}, vee 4 mm").parts
    point = part.points[(np.abs(part.points[:, 0]) < 1e-6) & (part.points[:, 2] > 0)]
    slope = math.atan(4.0 / math.radians(80) / MIDDLE)
    assert np.ptp(point[:, 1]) == pytest.approx(WIDE / math.cos(slope), rel=1e-3)
    assert point[:, 1].mean() == pytest.approx(4.0, abs=0.3)
    mirrored = part.points * (-1.0, 1.0, 1.0)
    order = [np.lexsort(np.round(one, 4).T) for one in (part.points, mirrored)]
    assert part.points[order[0]] == pytest.approx(mirrored[order[1]], abs=2e-4)


def test_stones_follow_a_pointed_band_with_one_in_the_point() -> None:
    row = "stone s: round 1.3 mm, gem diamond, along around of b, number 7, gap 0.15 mm"
    made = built(f"{BAND}, vee 4 mm\n{row}\nbead-set g: for s, in b")
    assert not [fault.code for fault in made.faults if fault.level.value != "hint"]
    spots = np.array([stone.frame[:, 3] for stone in made.stones])
    assert np.abs(spots[3]) == pytest.approx((0.0, 4.0, INSIDE / 2 + THICK), abs=1e-3)
    assert spots * (-1.0, 1.0, 1.0) == pytest.approx(spots[::-1], abs=1e-3)
    # As calipers measure it: 0.15 mm from girdle to girdle.
    assert np.linalg.norm(np.diff(spots, axis=0), axis=1) == pytest.approx(1.45, abs=1e-3)
    assert laid(f"{BAND}, vee 4 mm", "b").look("top").frames[0, 1, 3] == pytest.approx(4.0)
