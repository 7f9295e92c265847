"""Heads beside the middle of a ring, vees on a shank, strands that cross, wire in a vee: measured on the
finished triangles by plain rays and closed forms of the circle, not by the project's own rules.

A shank of even thickness is a circle in the plane of the ring: below a spot x beside the middle its outside
lies at sqrt(R^2 - x^2) (Pythagoras)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from test_set_in_metal import corners, met
from test_wishbone import MIDDLE, _parabola
from texts import built, made

from posy.lang.faults import Level

INSIDE, THICK, WIDE = 17.0, 1.9, 3.0
OUTER = INSIDE / 2 + THICK
BAND = f"band shank: inside {INSIDE} mm, thick {THICK} mm, wide {WIDE} mm"
CENTRE = "stone centre: round 5 mm, gem diamond, at top of shank, out 3.4 mm\nbasket head: for centre, on shank"
SIDES = "stone sides: round 2.8 mm, gem diamond, next-to centre, gap 0.78 mm"


def _spans(text: str, spots: np.ndarray) -> list[np.ndarray]:
    """Where lines down through ``spots`` (n, 2), from 30 mm above, go into metal and out of it, z in mm."""
    body = corners(built(text))
    start = np.column_stack([spots, np.full(len(spots), 30.0)])
    return [30.0 - np.unique(np.round(met(body, one, np.array([0.0, 0.0, -1.0])), 3)) for one in start]


@pytest.mark.parametrize("profile", ["flat", "d"])
@pytest.mark.parametrize(("setting", "radius"), [("bezel", 1.7), ("collet", 1.12)])
def test_the_foot_of_a_side_head_follows_the_shank(setting: str, radius: float, profile: str) -> None:
    """All round the wall: over the shank no air below it; beside it nothing hangs lower than the end of the
    foot where the shank is nearest."""
    text = f"{BAND}, profile {profile}\n{CENTRE}\n{SIDES}\n{setting} cups: for sides, on shank"
    x = float(made(text).stones[1].frame[0, 3])
    turn = np.radians(np.arange(0, 360, 15))
    spots = np.stack([abs(x) + radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    near = math.sqrt(OUTER**2 - (abs(x) - radius - 0.4) ** 2)
    over = 0
    for (along, up), ends in zip(spots, _spans(text, spots), strict=True):
        top = ends[ends > 0]
        if abs(up) < WIDE / 2 - 0.05:
            over += 1
            assert len(top) == 2, (along, up, top)  # in at the rim, out in the finger hole
            assert top[1] == pytest.approx(math.sqrt((INSIDE / 2) ** 2 - along**2), abs=0.4)
        elif abs(up) > WIDE / 2 + 0.05:
            assert len(top) == 2 and top[1] > near - (1.3 if profile == "d" else 0.8), (along, up, top)
    assert over >= 6


def test_a_head_over_a_shank_that_falls_away_steeply_is_refused_and_the_remedy_works() -> None:
    stones = "stone bags: tapered-baguette 4 x 2.5 x 1.8 mm, gem diamond, next-to centre, gap 0.3 mm"
    emerald = "stone centre: emerald 7 x 5 mm, gem emerald, at top of shank, out 3.8 mm"
    text = f"{BAND}\n{emerald}\nbasket head: for centre, on shank\n{stones}\nbezel cups: for bags, on shank"
    (fault,) = made(text).faults
    assert fault.code == "expectation" and "falls away" in fault.message
    built(text.replace("gap 0.3 mm", "gap 0.3 mm, on shank, out 2 mm"))


def test_prongs_of_a_side_basket_reach_the_shank() -> None:
    """Of the three prongs of each trillion that over the shank stands on it: a line down its middle meets no
    air before the finger hole."""
    stone = "stone sides: trillion 4 x 4 mm, gem diamond, next-to centre, gap 0.3 mm"
    text = f"{BAND}\n{CENTRE}\n{stone}\nbasket heads: for sides, on shank"
    frame = made(text).stones[1].frame
    point = frame[:, 3] + frame[:, 0] * 2.0  # the point of the stone, away from the middle
    spot = np.array([[point[0] - 0.2 * np.sign(point[0]), 0.0]])
    (ends,) = _spans(text, spot)
    assert len(ends[ends > 0]) == 2


@pytest.mark.parametrize("stone", ["princess 5 x 5", "marquise 8 x 4", "pear 7 x 5", "heart 6 x 6", "trillion 6 x 6"])
def test_vees_stand_on_a_shank_in_one_line(stone: str) -> None:
    """One body, nothing to report; round each sharp point metal stands above the girdle."""
    text = f"{BAND}\nstone centre: {stone} mm, gem diamond, at top of shank, out 3.8 mm\nbasket head: for centre, tip vee, on shank"
    piece = built(text)
    assert {fault.code for fault in piece.faults} <= {"soft-stone"}
    body, girdle = corners(piece), OUTER + 3.8
    reach = max(float(one) for one in stone.split()[1::2]) / 2
    ring = np.radians(np.arange(0, 360, 3))
    hits = 0
    for way in np.stack([np.cos(ring), np.sin(ring), 0 * ring], axis=1):
        hits += len(met(body, np.array([0.0, 0.0, girdle + 0.3]), way)) > 0
    assert hits >= 3, reach


@pytest.mark.parametrize("gap", [1.0, 3.0, 4.0])
def test_strands_that_cross_end_flush_and_stand_apart_as_said(gap: float) -> None:
    """At the back the ring is as thick as said all round, without a step; beside the crossing the air
    between the strands is as wide as said where it is widest."""
    text = f"split-shank ring: inside {INSIDE} mm, wide 4.4 mm, thick {THICK} mm, gap {gap} mm, profile flat, crossed"
    piece = built(text)
    assert not piece.faults
    (part,) = piece.parts
    radius = np.hypot(part.points[:, 0], part.points[:, 2])
    assert radius.min() == pytest.approx(INSIDE / 2, abs=0.01)
    back = part.points[:, 2] < -2.0
    assert radius[back].max() == pytest.approx(OUTER, abs=0.02)
    assert np.abs(part.points[back, 1]).max() == pytest.approx(2.2, abs=0.02)
    body, widest = corners(piece), 0.0
    for turn in np.radians(np.arange(4, 60, 1.0)):
        spot = np.array([math.sin(turn), 0.0, math.cos(turn)]) * (INSIDE / 2 + 0.5)
        hits = met(body, spot, np.array([0.0, 1.0, 0.0]))
        if len(hits) == 4 and hits[1] < 0 < hits[2] and hits[3] - hits[2] > 2.0:  # not where one is lifted
            widest = max(widest, hits[2] - hits[1])
    assert widest == pytest.approx(gap, abs=0.03)


def test_stones_on_crossed_strands_lie_clear_of_the_other_strand() -> None:
    shank = "split-shank ring: inside 17 mm, wide 4.4 mm, thick 1.8 mm, gap 3 mm, crossed"
    over = "stone over-row: round 1.3 mm, gem diamond, along upper of ring, gap 0.2 mm, stretch 15 % to 85 %"
    side = "stone side-row: round 1.3 mm, gem diamond, along lower of ring, gap 0.2 mm, number 5"
    piece = built(f"{shank}\n{over}\n{side}\nbead-set g: for over-row + side-row, in ring")
    assert not [one.code for one in piece.faults if one.level is not Level.HINT]
    spots = np.array([stone.frame[:, 3] for stone in piece.stones])
    upper, lower = spots[:-10], spots[-10:]
    assert np.linalg.norm(upper[:, None] - lower[None], axis=2).min() > 1.3


@pytest.mark.parametrize("vee", [2.0, 5.0])
def test_round_wire_in_a_vee_weighs_what_its_length_does(vee: float) -> None:
    """Section times the length of its middle line, as for the band (Pappus); the mitre takes and gives alike."""
    slope = vee / math.radians(80) / MIDDLE
    bend = math.radians(40) * MIDDLE
    length = math.hypot(1.0, slope) * math.radians(60) * MIDDLE + _parabola(bend, slope * bend / 2)
    length = 2 * (length + math.radians(80) * MIDDLE)
    path = f"path way: inside {2 * MIDDLE - 1.8} mm, outset 0.9 mm, vee {vee} mm"
    (part,) = built(f"{path}\nwire ring: along way, round 1.8 mm").parts
    assert part.volume == pytest.approx(math.pi * 0.9**2 * length, rel=3e-4)
    top = part.points[part.points[:, 2] > 0]
    assert top[np.abs(top[:, 0]) < 0.02, 1].mean() == pytest.approx(vee, abs=0.35)
