"""Places on real faces, lines round finger and wrist, wire that tapers and ends round: against closed
forms (Bronshtein and Semendyayev, Handbook of Mathematics, from memory: circular segment, helix,
perimeter of an ellipse by the arithmetic-geometric mean, sphere)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import laid, volume

RADIUS, HALF, THICK = 8.5, 3.0, 2.2  # a band 17 mm inside
BAND = f"band shank: inside {2 * RADIUS} mm, wide {2 * HALF} mm, thick {THICK} mm, profile d\n"


def test_a_place_on_a_band_lies_on_its_arc() -> None:
    frame = laid(BAND + "spots dot: on shank, around 36 deg, up 1.2 mm", "dot").frames[0]
    rise = THICK / 2  # a d bulges over edges of half its thickness: a circle over its chord
    bend = (HALF**2 + rise**2) / (2 * rise)
    up, turn = 1.2, math.radians(36)
    away = RADIUS + THICK - bend + math.sqrt(bend**2 - up**2)
    assert frame[:, 3] == pytest.approx((away * math.sin(turn), up, away * math.cos(turn)), abs=2e-3)
    lean = math.asin(up / bend)  # the face looks along its own radius
    out = math.cos(lean) * math.sin(turn), math.sin(lean), math.cos(lean) * math.cos(turn)
    assert frame[:, 2] == pytest.approx(out, abs=2e-3)


def test_right_goes_round_a_band() -> None:
    frame = laid(BAND + "spots dot: on shank, right 5 mm", "dot").frames[0]
    assert math.atan2(frame[0, 3], frame[2, 3]) == pytest.approx(5 / (RADIUS + THICK), abs=1e-6)


def test_a_gap_on_a_band_is_kept_at_the_girdles() -> None:
    row = "stone row: round 2 mm, gem ruby, on shank, row 5, gap 0.2 mm, out 0.3 mm, anchor 2"
    at = laid(BAND + row, "row").frames[:, :, 3]
    apart = np.linalg.norm(np.diff(at, axis=0), axis=1)
    assert apart == pytest.approx([2.2] * 4, abs=2e-3)
    assert at[1, 0] == pytest.approx(0, abs=1e-9)  # the second stands at the head


def test_a_place_on_a_dome_lies_on_its_ball() -> None:
    text = "dome d: across 12 mm, height 3 mm\nspots dot: on d, right 3 mm, up 2 mm"
    frame = laid(text, "dot").frames[0]
    ball = (36 + 9) / 6
    middle = np.array([0, 0, 3 - ball])
    assert np.linalg.norm(frame[:, 3] - middle) == pytest.approx(ball, abs=1e-4)
    assert frame[:, 2] == pytest.approx((frame[:, 3] - middle) / ball, abs=1e-4)
    assert frame[:2, 3] == pytest.approx((3, 2))


def test_what_stands_along_a_round_line_looks_straight_out() -> None:
    """Wherever between the points of the line it comes to stand: along the radius, to a fiftieth of a degree."""
    flat = BAND.replace("profile d", "profile flat")
    row = "stone row: round 2.4 mm, gem diamond, along around of shank, gap 0.21 mm, out 0.2 mm"
    frames = laid(flat + row, "row").frames
    radial = frames[:, (0, 2), 3] / np.linalg.norm(frames[:, (0, 2), 3], axis=1, keepdims=True)
    assert (radial * frames[:, (0, 2), 2]).sum(axis=1).min() > math.cos(math.radians(0.02))
    assert np.linalg.norm(np.einsum("nji,njk->nik", frames[:, :, :3], frames[:, :, :3]) - np.eye(3), axis=(1, 2)).max() < 1e-6


def test_length_of_a_coil() -> None:
    line = laid(
        "path coil: inside 16 mm, outset 0.6 mm, arc 0 deg to 900 deg, advance 7 mm", "coil"
    ).look("path")
    long = math.hypot(2.5 * 2 * math.pi * 8.6, 7)
    assert line.lines[0].length() == pytest.approx(long, rel=1e-4)


def test_length_of_an_oval() -> None:
    a, b = 30.0, 25.0
    means, total, power = (a, b), 0.0, 0.5
    while abs(means[0] - means[1]) > 1e-12:  # the perimeter by the arithmetic-geometric mean
        c = (means[0] - means[1]) / 2
        power *= 2
        total += power * c * c
        means = (means[0] + means[1]) / 2, math.sqrt(means[0] * means[1])
    round_ = 2 * math.pi / means[0] * ((a * a + b * b) / 2 - total)
    for text in ("oval 60 x 50 mm", "inside 60 x 50 mm"):
        line = laid(f"path way: {text}", "way").look("path").lines[0]
        assert line.length() == pytest.approx(round_, rel=1e-4)


def test_opening_of_a_cuff() -> None:
    text = "path way: inside 60 x 50 mm, open 26 mm\nwire cuff: along way, flat 6 x 2 mm"
    ends = laid(text, "way").look("ends").frames[:, :, 3]
    assert np.linalg.norm(ends[0] - ends[1]) == pytest.approx(26, abs=1e-3)
    assert (ends[:, 2] < 0).all()


def test_wire_with_round_tips() -> None:
    line = "path l: through (0, 0) to (10, 0 mm)\n"
    wire = volume(line + "wire w: along l, round 2 mm, tips round")
    assert wire == pytest.approx(math.pi * 8 + 4 / 3 * math.pi, rel=1e-4)


def test_wire_widest_in_the_middle() -> None:
    nodes, weights = np.polynomial.legendre.leggauss(40)
    share = (nodes + 1) / 2
    wide = 1 + share**2 * (3 - 2 * share)  # from 1 mm to 2 mm, level at both ends
    half = float((weights * math.pi / 4 * wide**2).sum()) / 2 * 5
    line = "path l: through (0, 0) to (10, 0 mm)\n"
    wire = volume(line + "wire w: along l, round 1 mm, taper 1 mm to 2 mm to 1 mm")
    assert wire == pytest.approx(2 * half, rel=1e-3)


def test_edges_of_wire_end_where_its_round_tips_begin() -> None:
    """A half circle over the width takes the last half width of either edge."""
    text = "path way: through (0, 0) to (40, 0 mm)\nwire cuff: along way, flat 10 x 1.6 mm, tips round\n"
    frames = laid(text + "path edge: beside edges of cuff\nspots dot: at ends of edge", "dot").frames
    assert sorted(frames[:, 0, 3]) == pytest.approx([5.0, 35.0], abs=1e-6)
    assert abs(frames[:, 1, 3]) == pytest.approx([5.0, 5.0], abs=1e-6)
