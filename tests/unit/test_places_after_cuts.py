"""Places of metal that was cut, hollowed, sawn or bent before: they lie on what is left, the right side out.

Each is measured on the made metal: a spot just behind it is inside (solid angle over 4 pi, Oosterom and
Strackee 1983), one just before it outside, and the nearest triangle (trimesh) is no farther than its chord."""

from functools import lru_cache

import numpy as np
import pytest
import trimesh
from texts import Texts, built, laid

from posy.compiler.making.pipeline import build

SAWN = "pierce cut: rectangle 30 x 6 mm, up 10 mm, out 2 mm, in m\n"
DISC = "disc m: across 20 mm, thick 2 mm\n"
FIELD = "engrave cut: round 15 mm, deep 0.6 mm, at face of m, in m\n"
BAR = "bar m: size 20 x 6 x 2 mm\n"
BAND = """band m: inside 18 mm, wide 6 mm, thick 2.4 mm
engrave cut: stroke 4 mm, cut round, deep 0.6 mm, along around of m, in m
"""
GROUP = f"workpiece w: up 5 mm, tilt 30 deg\n  {DISC}  {SAWN}"
STRIP = """bar f: size 40 x 6 x 2 mm
engrave cut: round 5 mm, deep 0.6 mm, at face of f, in f
bend m: of f, inside 30 mm
"""
CASES = {
    "sawn off above": (DISC + SAWN, "top of m", 0),
    "sawn off, below": (DISC + SAWN, "bottom of m", 0),
    "a notch": (DISC + "pierce cut: round 5 mm, up 10 mm, in m\n", "top of m", 0),
    "a drilled notch": (DISC + "drill cut: across 4 mm, up 10 mm, in m\n", "top of m", 0),
    "sawn on the right": (BAR + "pierce cut: rectangle 6 x 10 mm, right 9 mm, in m\n", "ends of m", 0),
    "a sunk field": (DISC + FIELD, "face of m", 2),
    "behind a sunk field": (DISC + FIELD, "back of m", 2),
    "hollowed": (DISC + "hollow cut: in m, wall 1 mm, roof 0.8 mm\n", "back of m", 2),
    "in a tilted workpiece": (GROUP, "top of w", 0),
    "of its part": (GROUP, "top of m of w", 0),
    "after the workpiece": (f"workpiece w: up 5 mm\n  {DISC}{SAWN.replace('in m', 'in w, up 15 mm', 1)}"
                            .replace("up 10 mm, ", ""), "top of w", 0),
    "its mirror image": (BAR.replace("2 mm\n", "2 mm, right 20 mm\n")
                         + "pierce cut: rectangle 6 x 10 mm, right 29 mm, in m\nmirror n: of m\n",
                         "right of n", 0),
    "its copy, tilted": (DISC + SAWN + "copy n: of m, right 30 mm, tilt 20 deg\n", "top of n", 0),
    "a hollowed band's head": (BAND, "top of m", 2),
    "its back": (BAND, "bottom of m", 2),
    "its shoulders": (BAND, "shoulders of m", 2),
    "a field in a strip, bent": (STRIP, "top of m", 2),
    "the face of that strip": (STRIP, "face of f", 2),
    "cut after bending": (STRIP.replace("face of f, in f", "top of m, in m").replace(
        "engrave cut", "engrave  cut").split("engrave")[0] + "bend m: of f, inside 30 mm\n"
        "engrave cut: round 5 mm, deep 0.6 mm, at top of m, in m\n", "face of f", 2),
    "a bail above": (DISC + SAWN + "bail b: at top of m\n", "top of b", 0),
}  # fmt: skip


@lru_cache
def _metal(text):
    parts = build("p.posy", files=Texts({"p.posy": text}), tolerance=0.01, check_metal=False).parts
    return np.concatenate([part.points[part.triangles] for part in parts])


def _inside(corners, spot):
    one, two, three = np.moveaxis(corners - spot, 1, 0)
    sizes = [np.linalg.norm(each, axis=1) for each in (one, two, three)]
    top = (one * np.cross(two, three)).sum(axis=1)
    low = sizes[0] * sizes[1] * sizes[2]
    for each, (a, b) in zip(sizes[::-1], ((one, two), (one, three), (two, three)), strict=True):
        low = low + (a * b).sum(axis=1) * each
    return abs(np.arctan2(top, low).sum() / (2 * np.pi)) > 0.5


@pytest.mark.parametrize("case", CASES)
def test_places_stand_on_what_is_left(case):
    text, place, axis = CASES[case]
    metal = _metal(text)
    frames = laid(f"{text}spots at-it: at {place}\n", "at-it").frames
    assert len(frames)
    for frame in frames:
        spot, way = frame[:, 3], frame[:, axis]
        near = trimesh.triangles.closest_point(metal, np.repeat(spot[None], len(metal), axis=0))
        assert np.linalg.norm(near - spot, axis=1).min() < 0.02
        assert _inside(metal, spot - 0.1 * way)
        assert not _inside(metal, spot + 0.1 * way)


def test_a_place_over_a_hole_right_through_stays_as_it_was():
    frames = laid(f"{DISC}pierce cut: round 12 mm, in m\nspots s: at face of m\n", "s").frames
    assert frames[0, :, 3] == pytest.approx((0, 0, 2))


def test_a_bail_at_the_top_of_what_was_sawn_off_hangs_it():
    made = built(f"{DISC}{SAWN}bail b: at top of m\n", tolerance=0.02)
    assert not [one.code for one in made.faults if one.level.value != "hint"]
    assert max(part.points[:, 1].max() for part in made.parts) == pytest.approx(7 + 7 - 0.6, abs=0.02)


def test_what_runs_round_a_hollowed_band_lies_in_its_hollow():
    """The floor of a round cut 0.6 mm deep in a band of 11.4 mm outside radius lies at 10.8 mm."""
    text = f"{BAND}bead-line b: along around of m, bead 0.8 mm\n"
    made = built(text, tolerance=0.02)
    assert "unattached-bead" not in [one.code for one in made.faults]
    away = np.hypot(made.parts[0].points[:, 0], made.parts[0].points[:, 2])
    low = np.abs(made.parts[0].points[:, 1]) < 0.35
    assert away[low].max() == pytest.approx(10.8 + 0.4, abs=0.04)


def test_a_path_beside_the_middle_of_a_hollow_lies_on_its_flank():
    """1 mm beside the middle of a cut 4 mm wide it is 0.6 sqrt(1 - 1/4) mm deep."""
    frames = laid(f"{BAND}ball b: along around of m, up 1 mm, number 9, across 1 mm\n", "b").frames
    away = np.hypot(frames[:, 0, 3], frames[:, 2, 3])
    assert away == pytest.approx(np.full(9, 11.4 - 0.6 * np.sqrt(0.75)), abs=0.005)


@pytest.mark.parametrize("ring", ["jump-ring m: inside 8 mm, wire 1.6 mm\n", "path c: round 9.6 mm\n"
                                  "wire m: along c, round 1.6 mm\n"], ids=["jump-ring", "wire"])  # fmt: skip
@pytest.mark.parametrize("cut", ["pierce d: round 9 mm", "drill d: across 1 mm", "engrave d: round 9 mm, deep 1 mm"])
def test_a_cut_in_the_middle_of_a_ring_of_wire_is_told_and_its_remedy_cuts_the_wire(ring, cut):
    (fault,) = build("p.posy", files=Texts({"p.posy": f"{ring}{cut}, at face of m, in m\n"})).faults
    assert fault.code == "off-the-face"
    where = fault.remedy.removeprefix("say '").removesuffix("'")
    assert where == "at face of m, left 4.80 mm"
    small = cut.replace("9 mm", "1 mm")
    made = built(f"{ring}{small}, {where}, in m\n", tolerance=0.02, check_metal=False)
    whole = built(ring, tolerance=0.02, check_metal=False)
    assert made.parts[0].volume < whole.parts[0].volume - 0.5


def test_what_stands_on_a_copy_stands_on_its_face():
    text = "disc e: across 9 mm, thick 2 mm\ncopy d: of e, right 12 mm\nball u: on d, across 3 mm\n"
    assert laid(text, "u").frames[0, :, 3] == pytest.approx((12, 0, 2))


def test_a_cap_spans_the_hole_of_the_tube_it_stands_on():
    text = "tube t: outside 8 mm, inside 6 mm, long 5 mm\ndome cap: on t, across 9 mm, height 3 mm, wall 0.8 mm\n"
    assert laid(text, "cap").frames[0, :, 3] == pytest.approx((0, 0, 5))


def test_rays_follow_a_band_from_the_rim_of_its_stone():
    """Each ray lies in the face: what it cut is a graver's depth under it, all along."""
    band = "band m: inside 18 mm, wide 8 mm, thick 2.4 mm\nstone s: round 2 mm, gem garnet, on m, level table\n"
    made = {
        rays: built(f"{band}flush f: for s, in m{rays}\n", tolerance=0.01, check_metal=False)
        for rays in ("", ", rays 4, deep 0.3 mm")
    }
    old, new = (np.round(made[rays].parts[0].points, 4) for rays in made)
    cut = np.array([one for one in new if tuple(one) not in {tuple(each) for each in old}])
    cut = cut[cut[:, 2] > 8]
    assert np.hypot(cut[:, 0], cut[:, 2]).min() == pytest.approx(11.4 - 0.3, abs=0.02)
    assert max(abs(cut[:, 0]).max(), abs(cut[:, 1]).max()) == pytest.approx(1 + 0.2 + 1.2, abs=0.3)
    for x, y in ((0, 1), (1, 0)):  # a stroke to each side
        assert (np.hypot(cut[:, 0] - 2 * x, cut[:, 1] - 2 * y) < 0.5).any()


@pytest.mark.parametrize("path", ["rim of m", "m"])
@pytest.mark.parametrize("cut", [SAWN, "drill cut: across 5 mm, up 10 mm, in m\n"], ids=["sawn", "drilled"])
def test_the_rim_of_what_was_sawn_off_runs_along_the_cut(cut, path):
    frames = laid(f"{DISC}{cut}ball b: along {path}, number 60, inset 0.5 mm, across 0.6 mm\n", "b").frames
    metal = _metal(DISC + cut)
    assert len(frames) == 60
    assert all(_inside(metal, frame[:, 3] - 0.1 * frame[:, 2]) for frame in frames)
    away = np.hypot(frames[:, 0, 3], frames[:, 1, 3] - 10)
    on_cut = frames[:, 1, 3] > 6.45 if cut is SAWN else away < 3.05
    assert on_cut.any() and np.abs((frames[on_cut, 1, 3] - 6.5) if cut is SAWN else away[on_cut] - 3).max() < 0.03


def test_a_hole_inside_a_rim_leaves_it_whole():
    text = f"{DISC}pierce cut: round 6 mm, in m\nball b: along rim of m, number 12, across 0.6 mm\n"
    frames = laid(text, "b").frames
    assert np.hypot(frames[:, 0, 3], frames[:, 1, 3]) == pytest.approx(np.full(12, 10.0), abs=0.01)
