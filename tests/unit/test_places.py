"""Places on metal: where they are, and that what is put there stands on it."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from texts import checked, faults, laid

from posy.compiler.making.pipeline import build, check
from posy.lang.faults import Level
from posy.lang.loader import Texts


def figures(text, *asked):
    """What ``asked`` come to after ``text``."""
    lines = [f"measure m{k} = {one}\n" for k, one in enumerate(asked)]
    built = checked(text + "".join(lines))
    assert faults(built) == []
    return [built.measures[f"m{k}"][0] for k in range(len(asked))]


def spot(text, place):
    return figures(text, *(f"{way} of pick({place}, 1)" for way in ("right", "up", "out")))


def volume(text):
    built = build("piece.posy", files=Texts({"piece.posy": text}), tolerance=0.02)
    return sum(part.volume for part in built.parts)


def codes(text):
    built = build("piece.posy", files=Texts({"piece.posy": text}), tolerance=0.02)
    return {f.code for f in built.faults if f.level is not Level.HINT}


SHAPES = [
    # line, then face, back, top, bottom, right, left
    ("bar b: size 10 x 6 x 2 mm", (0, 0, 2), (0, 0, 0), (0, 3, 1), (0, -3, 1), (5, 0, 1), (-5, 0, 1)),
    ("disc b: across 8 mm, thick 1 mm, up 3 mm",
     (0, 3, 1), (0, 3, 0), (0, 7, 0.5), (0, -1, 0.5), (4, 3, 0.5), (-4, 3, 0.5)),
    ("ball b: across 4 mm", (0, 0, 4), (0, 0, 0), (0, 2, 2), (0, -2, 2), (2, 0, 2), (-2, 0, 2)),
    # A tube has no metal in the middle of its face: its box tells.
    ("tube b: outside 6 mm, inside 4 mm, long 3 mm",
     (0, 0, 3), (0, 0, 0), (0, 3, 1.5), (0, -3, 1.5), (3, 0, 1.5), (-3, 0, 1.5)),
    ("jump-ring b: inside 4 mm, wire 1 mm",
     (0, 0, 0.5), (0, 0, -0.5), (0, 3, 0), (0, -3, 0), (3, 0, 0), (-3, 0, 0)),
    ("workpiece b: right 1 mm\n  bar one: size 4 x 4 x 1 mm\n  bar two: size 2 x 2 x 1 mm, out 1 mm, up 3 mm\n"
     "  disc hub: across 1 mm, thick 2.5 mm, up 1 mm",
     (1, 1, 2.5), (1, 1, 0), (1, 4, 1.5), (1, -2, 0.5), (3, 1, 0.5), (-1, 1, 0.5)),
]  # fmt: skip


@pytest.mark.parametrize("row", SHAPES, ids=lambda row: row[0].split()[0])
def test_sides_are_where_the_metal_ends(row):
    text, *wanted = row
    text += "\n"
    for name, where in zip(("face", "back", "top", "bottom", "right", "left"), wanted, strict=True):
        if text.startswith("workpiece") and name in ("face", "back"):
            continue  # answered by its first named part
        assert spot(text, f"{name} of b") == pytest.approx(where, abs=0.011), name


def test_x_points_away_from_the_metal_at_every_end():
    """A ball put 1 mm to the right of each end stands 1 mm off the metal."""
    text = "bar b: size 10 x 6 x 2 mm\n"
    for name, where in (("top", (0, 4)), ("bottom", (0, -4)), ("right", (6, 0)), ("left", (-6, 0))):
        line = f"spots s: at {name} of b, right 1 mm\n"
        assert spot(text + line, "s")[:2] == pytest.approx(where)


def test_the_left_mirrors_the_right():
    text = "bar b: size 10 x 6 x 2 mm\nspots r: at right of b, up 1 mm\nspots l: at left of b, up 1 mm\n"
    assert spot(text, "r") == pytest.approx((5, 1, 1))
    assert spot(text, "l") == pytest.approx((-5, 1, 1))


def test_the_back_looks_backward():
    text = "ball b: across 4 mm\nspots s: at back of b, out 1 mm\n"
    assert spot(text, "s") == pytest.approx((0, 0, -1), abs=0.01)


def test_a_hearts_top_is_the_bottom_of_its_cleft():
    """Not the top of its box, where there is air."""
    heart = "plate h: heart 12 x 11 mm, upright, thick 1.6 mm\n"
    (top,) = figures(heart, "up of top of h")
    assert 3 < top < 5.2
    text = f"{heart}bail loop: at top of h, inside 2 mm\n"
    assert "loose-piece" not in codes(text)


@pytest.mark.parametrize(
    "body",
    [
        "disc medal: across 16 mm, thick 1.6 mm", "plate medal: oval 18 x 14 mm, thick 1.6 mm",
        "bar medal: size 6 x 20 x 1.6 mm", "tube medal: outside 14 mm, inside 10 mm, long 2 mm",
        "plate medal: drop 16 x 10 mm, thick 1.6 mm, turn 90 deg",
        "workpiece medal\n  disc rim: across 16 mm, thick 1.6 mm\n  ball boss: across 2 mm, out 1 mm",
    ],
)  # fmt: skip
def test_a_bail_at_the_top_hangs_the_piece_straight(body):
    found = codes(f"{body}\nbail loop: at top of medal, inside 2.4 mm\n")
    assert found & {"loose-piece", "leans", "tips-forward", "top-heavy"} == set()


def test_the_zero_of_a_drawn_outline_is_kept():
    line = "path way: through (0, 0) to (8, 0 mm) to (8, 4 mm) to (0, 4 mm), closed\n"
    text = line + "plate p: outline way, thick 1 mm, up 2 mm\n"
    assert spot(text, "origin of p") == pytest.approx((0, 2, 0))
    assert spot(text, "face of p") == pytest.approx((4, 4, 1))


STUDS = "stone topaz: oval 6 x 4 mm, gem topaz, row 2, every 14 mm, out 3 mm\n"


def test_a_setting_stands_at_its_stones_and_nowhere_else():
    text = STUDS + "bezel cup: for topaz, blind\nspots s: at cup\n"
    assert figures(text, "count(s)", "right of pick(s, 1)", "right of pick(s, 2)") == [2, -7, 7]


def test_a_setting_has_a_back_for_each_stone():
    text = STUDS + "bezel cup: for topaz, blind\n"
    assert figures(text, "count(back of cup)", "count(top of cup)") == [2, 2]
    post = "ear-post post: at back of cup\n"
    assert "loose-piece" not in codes(
        "stone topaz: oval 6 x 4 mm, gem topaz\nbezel cup: for topaz, blind\n" + post
    )


@pytest.mark.parametrize("word", ["basket", "prong", "collet", "bezel"])
def test_settings_have_sides(word):
    text = f"stone s: round 5 mm, gem garnet, out 4 mm\n{word} head: for s\n"
    right, left, top, bottom = figures(
        text, "right of right of head", "right of left of head", "up of top of head",
        "up of bottom of head",
    )  # fmt: skip
    assert right == pytest.approx(-left, abs=0.05)
    assert top == pytest.approx(-bottom, abs=0.05)
    assert right > 1


def test_a_halo_offers_what_its_row_does():
    text = "stone c: round 5 mm, gem garnet, out 4 mm\nhalo ring: for c, gem diamond\n"
    gaps, nooks, long = figures(text, "count(gaps of ring)", "count(nooks of ring)", "length of path of ring")
    assert gaps > 8
    assert nooks > 0
    assert long > 15


def test_a_word_of_ones_own_has_sides_too():
    text = (
        "word bud\n  takes at: places, needed\n  disc foot: at at, across 3 mm, thick 1 mm\n"
        "  ball head: at at, across 2 mm, out 1 mm\n"
        "spots two: row 2, every 10 mm\nbud one: at two\n"
    )
    assert figures(text, "count(top of one)", "right of pick(top of one, 2)") == [2, 5]
    assert figures(text, "up of pick(top of one, 2)") == [pytest.approx(1.5, abs=0.01)]


def test_a_thing_without_metal_has_no_sides():
    built = check(
        "piece.posy",
        files=Texts({"piece.posy": "path way: through (0, 0) to (4, 0 mm)\nbar b: size 2 x 2 x 1 mm, at face of way\n"}),
    )
    assert "not-offered" in {f.code for f in built.faults}


def test_a_body_under_a_row_lies_under_all_of_it():
    line = "disc floor: across {} mm, thick 1 mm, under topaz\n"
    for across, wanted in ((3, ["under-beside"]), (14.2, [])):
        files = Texts({"piece.posy": STUDS + line.format(across)})
        found = [f.code for f in check("piece.posy", files=files).faults if f.level is Level.FAULT]
        assert found == wanted
    each = STUDS + "each one in topaz\n  disc floor: across 7.4 mm, thick 2.6 mm, under one\n  seat: for one, in floor\n"
    built = check("piece.posy", files=Texts({"piece.posy": each}))
    assert [f.code for f in built.faults if f.level is not Level.HINT] == []


RIDGED = [
    *(f"band b: inside 17 mm, wide 3 mm, thick 2 mm, profile {name}"
      for name in ("flat", "court", "d", "half-round", "knife-edge")),
    "band b: inside 17 mm, wide 3 mm, thick 2 mm, profile knife-edge, taper 2 x 2 mm",
    "band b: inside 17 mm, wide 3 mm, thick 2 mm, soften 1.5 mm",
    "band b: inside 17 mm, wide 3 mm, thick 2 mm, bevel 1.5 mm",
    "split-shank b: inside 17 mm, wide 3 mm, thick 2 mm, gap 2 mm, from 40 deg, profile half-round",
]  # fmt: skip


@pytest.mark.parametrize("line", RIDGED)
def test_a_place_on_a_ridge_looks_outward_not_along_a_slope(line):
    """4 mm out from it lies 4 mm farther from the finger, in the middle of the band."""
    far, slanting = 17 / 2 + 2 + 4, (17 / 2 + 2 + 4) / 2**0.5
    assert spot(line + "\n", "top of b") == pytest.approx((0, 0, far - 4))
    for place, where in (
        ("top of b", (0, 0, far)), ("bottom of b", (0, 0, -far)), ("shoulders of b", (slanting, 0, slanting)),
    ):  # fmt: skip
        assert spot(f"{line}\nspots s: at {place}, out 4 mm\n", "s") == pytest.approx(where, abs=1e-6)
    left = f"{line}\nspots s: at shoulders of b, out 4 mm, right 1 mm\nmeasure far = right of pick(s, 2)\n"
    assert figures(left, "far + right of pick(s, 1)", "up of pick(s, 2)") == pytest.approx([0, 0], abs=1e-6)
    for around in ("on b", "along around of b, stretch 0 % to 25 %, number 2"):
        assert spot(f"{line}\nspots s: {around}, out 4 mm\n", "s") == pytest.approx((0, 0, far), abs=0.003)


def test_the_shoulders_of_a_parted_shank_lie_on_its_strands() -> None:
    """Out from the middle of each strand, 9.5 mm from that of the finger, by half its thickness."""
    line = "split-shank b: inside 17 mm, wide 3 mm, thick 2 mm, gap 2 mm\n"
    for place in ("pick(shoulders of b, 1)", "pick(shoulders of b, 2)"):
        x, y, z = spot(f"{line}spots s: at {place}\n", "s")
        assert (x, z) == pytest.approx((10.5 / 2**0.5, 10.5 / 2**0.5), abs=1e-4)
        assert 0.75 < abs(y) < 0.75 + 2 / 2
    assert figures(f"{line}spots s: at shoulders of b\n", "count(s)") == [4]


@pytest.mark.parametrize("around", [40.0, -52.0, 70.0])
def test_what_stands_on_a_signet_at_an_angle_stands_so_far_round_and_looks_out_of_it(around):
    """On a flank, or beyond it on the shank; at 45 degrees it is the place of its shoulders."""
    line = "signet s: inside 17 mm, cushion 10 x 12 mm, height 2.6 mm, wide 5 mm, thick 1.8 mm, taper 3 x 1.5 mm\n"
    there = f"{line}spots p: on s, around {around:g} deg\n"
    x, _, z = spot(there, "p")
    assert math.degrees(math.atan2(x, z)) == pytest.approx(around, abs=0.05)
    out_x, _, out_z = spot(f"{line}spots p: on s, around {around:g} deg, out 1 mm\n", "p")
    assert math.hypot(out_x, out_z) > math.hypot(x, z) + 0.8
    shoulder = f"{line}spots p: on s, around 45 deg\nspots q: at pick(shoulders of s, 1)\n"
    assert spot(shoulder, "p") == pytest.approx(spot(shoulder, "q"), abs=1e-6)


def test_the_rail_of_a_place_by_a_girdle_is_the_highest_metal_below_it_that_hides_no_stone():
    """Of two rings of round wire the upper one; of flat wire on edge what lies below the stone set in it."""
    text = (
        "stone s: round 6 mm, gem diamond\nspots g: at s, right 3 mm\n"
        "path a: round 6 mm, inward 1.2 mm\nwire upper: along a, round 0.8 mm\n"
        "path b: round 5.6 mm, inward 3 mm\nwire lower: along b, round 0.6 mm\n"
    )
    asked = "right of pick(r, 1)", "out of pick(r, 1)", "thick of rail of places of g", "tall of rail of places of g"
    assert figures(f"{text}spots r: at rail of places of g\n", *asked) == pytest.approx([3, -0.8, 0.8, 0.8], abs=0.05)
    set_in = "path b: round 6 mm, inward 3 mm, edgewise\nwire lower: along b, flat 2 x 0.9 mm\n"
    text = text.partition("path a")[0] + set_in
    text += "stone t: round 1 mm, gem diamond, at s, inward 3 mm, right 3.45 mm, lean 90 deg\nspots r: at rail of places of g\n"
    assert figures(text, *asked) == pytest.approx([3, -3.5, 0.9, 0.5], abs=0.02)


def test_a_flat_path_offers_its_outermost_places() -> None:
    """The top of a circle of 22 mm lies 11 mm above its middle, x pointing up: elementary geometry."""
    text = "path rim: round 22 mm\nball a: across 2 mm, at {} of rim, right 3 mm\n"
    for side, spot in (("top", (0, 14)), ("bottom", (0, -14)), ("right", (14, 0)), ("left", (-14, 0))):
        (part,) = build("piece.posy", files=Texts({"piece.posy": text.format(side)}), check_metal=False).parts
        low, high = part.points.min(axis=0), part.points.max(axis=0)
        assert ((low + high)[:2] / 2).tolist() == pytest.approx(spot, abs=0.02)


def reach(text):
    """Lowest and highest corner of the metal of a piece."""
    (part,) = build("piece.posy", files=Texts({"piece.posy": text}), tolerance=0.02, check_metal=False).parts
    return part.points.min(axis=0), part.points.max(axis=0)


@pytest.mark.parametrize(("place", "axis", "sign"), [("face", 2, 1), ("back", 2, -1), ("ends", 0, 1)])
def test_a_bail_stands_outward_from_a_face_as_from_an_end(place, axis, sign):
    """Its loop goes 0.6 of its wire deep into the metal, and the rest of it stands off."""
    low, high = reach(f"disc m: across 10 mm, thick 2 mm\nbail b: at {place} of m, wire 1 mm, inside 4 mm")
    far = {"face": 2.0, "back": 0.0, "ends": 5.0}[place] + sign * (6 - 0.6)
    assert (high if sign > 0 else low)[axis] == pytest.approx(far, abs=0.02)


@pytest.mark.parametrize(("said", "out"), [("", 0.0), (", out 0.7 mm", 0.7), (", inward 0.5 mm", 1.0)])
def test_a_ball_lies_with_its_middle_on_the_end_of_a_wire(said, out):
    text = f"path w: through (-8 mm, 0 mm) to (8 mm, 0 mm)\nwire r: along w, round 2 mm\nball k: at ends of w, across 3 mm{said}"
    low, high = reach(text)
    assert (low[2], high[2]) == pytest.approx((min(-1.0, out - 1.5), out + 1.5), abs=0.03)
    assert high[0] == pytest.approx(9.5, abs=0.03)


def test_both_sides_of_a_place_are_mirror_images() -> None:
    text = "disc d: across 12 mm, thick 2 mm\nspots eyes: at face of d, right 5 mm, up 1 mm, turn 30 deg, both-sides"
    right, left = laid(text, "eyes").frames
    assert left == pytest.approx(np.diag([-1, 1, 1]) @ right)
    assert right[:, 3] == pytest.approx((5, 1, 2))


@pytest.mark.parametrize("cut", ["drill h: across 1.2 mm", "pierce h: oval 1.2 x 1 mm"])
def test_a_hole_at_an_end_goes_right_through_at_its_distance(cut):
    """At an end the way to the middle is left; half way up it begins, and no half of a hole is left. The
    volume is that of a hole from face to back (elementary geometry)."""
    bar = "bar b: size 20 x 5 x 1.4 mm\n"
    box = 20 * 5 * 1.4

    def metal(line):
        (part,) = build("piece.posy", files=Texts({"piece.posy": bar + line}), tolerance=0.002).parts
        one, two, three = part.points[part.triangles].swapaxes(0, 1)
        return (one * np.cross(two, three)).sum() / 6

    hole = np.pi / 4 * 1.2 * (1.0 if "oval" in cut else 1.2) * 1.4
    assert box - metal(f"{cut}, at ends of b, left 2 mm, in b") == pytest.approx(2 * hole, rel=0.01)
    # One of a depth said begins where it stands.
    assert box - metal(f"{cut}, at ends of b, left 2 mm, in b, deep 0.3 mm") < hole
    (told,) = build("piece.posy", files=Texts({"piece.posy": f"{bar}{cut}, at ends of b, inward 2 mm, in b"})).faults
    assert told.code == "idle-cut" and "'left 2 mm'" in told.remedy


def test_blows_on_a_turned_body_that_are_all_inset_away_are_told():
    """A hollow body's outer face 7 mm in from both its ends still takes blows; farther in none, and that is told."""
    text = "turned cap: hollow, through (8.8, 0) to (9.6, 0) to (7.8, 20) to (0, 22) to (0, 21) to (7, 19.6) to "
    text += "(8.8, 0 mm)\n"
    text += "hammered pits: upon cap, every 2 mm, inset {} mm"
    assert not {"no-places"} & codes(text.format(7))
    assert "no-places" in codes(text.format(30))


def test_both_sides_along_a_path_is_its_stretch_the_other_way_from_its_start():
    ring = "piece \"Ring\"\n  metal silver-925\nband shank: inside 17 mm, wide 3 mm, thick 2 mm\n"
    row = "stone row: pear 2.4 x 1.6 mm, gem diamond, along around of shank, number 4, stretch 6 % to 16 %, out 3 mm"
    spots = [f"{way} of pick(row, {k})" for k in range(1, 9) for way in ("right", "up", "out")]
    at = np.array(figures(f"{ring}{row}, both-sides\n", *spots)).reshape(8, 3)
    assert at[4:] == pytest.approx(at[:4] * (-1.0, 1.0, 1.0), abs=1e-6)


LEAF = "plate leaf: pear 8 x 5 mm, upright, thick 1.4 mm, up 3.6 mm\n"


@pytest.mark.parametrize(
    ("line", "spots"),
    [
        ("wheel leaves: of leaf, times 4", {(0.0, 7.6)}),
        ("wheel leaves: of leaf, times 2, right 20 mm, turn 180 deg", {(20.0, 7.6)}),
        ("copy leaves: of leaf, row 2, every 9 mm", {(-4.5, 7.6), (4.5, 7.6)}),
    ],
)
def test_the_top_of_a_wheel_is_its_highest_place_the_first_counted(line, spots):
    """A wheel is one thing with one top; copies side by side have each its own."""
    frames = laid(f"{LEAF}{line}\nball b: at top of leaves, across 1 mm", "b").frames
    assert {tuple(spot) for spot in frames[:, :2, 3].round(3).tolist()} == spots
    assert frames[:, 1, 0] == pytest.approx(np.ones(len(spots)))


@pytest.mark.parametrize(
    ("at", "turn", "way"),
    [
        ("top", "", (0, 1)), ("right", "", (0, 1)), ("left", "", (0, 1)), ("bottom", "", (0, 1)),
        ("top", ", turn 90 deg", (0, -1)), ("face", "", (0, 1)),
    ],
)
def test_the_top_of_what_stands_at_an_end_is_above(at, turn, way):
    """Its x points away from that end, and its right with it; its top is up, unless its line turns it."""
    text = f"bar b: size 9 x 9 x 2 mm\nball a: at {at} of b, across 3 mm{turn}\nball c: at top of a, across 1 mm"
    a, c = laid(text, "a").frames[0, :2, 3], laid(text, "c").frames[0, :2]
    assert (c[:, 3] - a) / 1.5 == pytest.approx(way, abs=1e-6)
    assert c[:, 0] == pytest.approx(way, abs=1e-6)


def test_places_on_a_flat_face_lie_straight_below_themselves():
    """The gaps of a row that floats 3 mm over a bar turned by 30 degrees come down on its face, 1.6 mm over its
    ground, and look as it does; what is moved there goes along each (elementary geometry)."""
    text = "bar rail: size 40 x 6 x 1.6 mm, turn 30 deg\nstone row: round 4 mm, gem garnet, row 3, every 8 mm, turn 30 deg, out 3 mm\n"
    got = laid(text + "spots there: at gaps of row, on rail, right 1 mm, out 0.5 mm", "there").frames
    gaps = laid(text + "spots above: at gaps of row, right 1 mm", "above").frames
    assert got[:, :2, 3] == pytest.approx(gaps[:, :2, 3]) and got[:, 2, 3] == pytest.approx(2.1)
    assert got[:, :, 0] == pytest.approx(gaps[:, :, 0]) and got[:, :, 2] == pytest.approx(np.tile([0, 0, 1], (len(got), 1)))


def test_places_on_a_face_that_is_not_flat_are_told():
    text = "ball b: across 8 mm\nstone row: round 1 mm, gem garnet, row 3, every 2 mm, out 9 mm\nball c: at gaps of row, on b, across 1 mm"
    assert "clauses-disagree" in codes(text)


def test_gaps_lie_between_stones_and_those_of_claws_beyond_them_too():
    """Three stones in a row every 8 mm have two gaps, at 4 mm from the middle (elementary geometry); a round
    of them has as many as stones, for claws too."""
    text = "stone row: round 4 mm, gem garnet, row 3, every 8 mm\nstone ring: round 2 mm, gem garnet, circle 6, radius 19 mm\n"
    assert laid(text + "spots s: at gaps of row", "s").frames[:, 0, 3] == pytest.approx([-4, 4])
    assert laid(text + "spots s: at claw-gaps of row", "s").frames[:, 0, 3] == pytest.approx([-12, -4, 4, 12])
    assert figures(text, "count(gaps of ring)", "count(claw-gaps of ring)") == [6, 6]


@pytest.mark.parametrize(("over", "bends"), [("(-3.6, 9)", True), ("(3.6, 9)", True), ("(0, 9)", False)])
def test_the_back_of_a_row_that_bends_is_behind_its_line(over: str, bends: bool) -> None:
    """On the arc through the middles of its stones (elementary geometry), not in the bow beside it; a straight
    row's is the middle of its box."""
    text = f"path curve: through (0, 0) over {over} to (0, 20 mm)\n"
    text += "stone row: round 2.5 mm, gem topaz, along curve, number 7, gap 0.3 mm\nbasket head: for row, shared\n"
    x, y, _ = spot(text, "back of head")
    asked = (f"{way} of pick(centres of row, {k})" for k in range(1, 8) for way in ("right", "up"))
    right, up = np.reshape(figures(text, *asked), (7, 2)).T
    assert y == pytest.approx(10.0, abs=1.2)
    there = float(np.interp(y, up, right))
    assert x == pytest.approx(there, abs=0.05) and (abs(there) > 3) == bends


@pytest.mark.parametrize("put", ["at top of shank", "on shank, around 40 deg"])
@pytest.mark.parametrize("moved", [True, False])
def test_a_head_in_a_workpiece_stands_on_a_shank_made_outside(put, moved):
    """As it does without the workpiece, wherever that is put."""
    ring, stone = "band shank: finger us 7, wide 3 mm, thick 1.9 mm\n", "stone one: round 5 mm, gem ruby"
    head = "basket head: for one, on shank\n"
    block, far = (f": {put}", "out 5 mm") if moved else ("", f"{put}, out 5 mm")
    inside = f"workpiece flower{block}\n  {stone}, {far}\n  {head}"
    assert codes(ring + inside) & {"loose-stone", "loose-piece", "no-places"} == set()
    alone = f"{stone}, {put}, out 5 mm\n{head}"
    assert volume(ring + inside) == pytest.approx(volume(ring + alone), rel=1e-4)


def test_holes_in_a_dome_go_through_it_wherever_it_stands():
    dome = (
        "plate shield: oval 12 x 9 mm, thick 1.8 mm{}\ndap dome: of shield, ball 24 mm\n"
        "stone pave: round 1.5 mm, gem ruby, upon dome, every 1.8 mm, inset 1.2 mm\n"
        "bead-set grains: for pave, in dome\n"
    )
    assert "blind-seat" not in codes(dome.format(", out 12 mm"))
    assert volume(dome.format(", out 12 mm")) == pytest.approx(volume(dome.format("")), rel=1e-6)


def test_spots_that_a_path_brings_to_one_place_are_told() -> None:
    body = "plate body: pear 16 x 22 mm, upright, thick 1.6 mm\n"
    text = f"{body}spots low: at bottom of body, row 3, every 4.5 mm, onto waist of body\nball b: at low, across 1 mm"
    (fault,) = checked(text).faults
    assert fault.code == "no-places" and "3 spots come to lie on 1" in fault.message
    assert fault.remedy is not None and "number 3" in fault.remedy
    assert not checked(f"{body}ball b: along waist of body, number 3, stretch 42 % to 58 %, across 1 mm").faults


def test_stones_spread_on_a_dome_keep_off_the_bezel_in_its_middle():
    cup = "bezel cup: for eye, blind, wall 1 mm, foot 1.2 mm\n"
    text = (
        "plate shield: oval 14 x 12 mm, thick 1.8 mm\ndap dome: of shield, ball 24 mm\n"
        f"stone eye: cabochon 4 x 4 mm, gem ruby, out 1.8 mm\n{cup}"
        "stone pave: round 1.5 mm, gem diamond, upon dome, every 1.6 mm, inset 0.6 mm\n"
        "bead-set grains: for pave, in dome\n"
    )
    assert "stone-in-metal" not in codes(text)
    (beside,), (alone,) = (figures(one, "count of pave") for one in (text, text.replace(cup, "")))
    assert beside < alone


def test_a_row_along_a_path_is_answered_by_number() -> None:
    text = "path way: through (0, 0) to (20, 0 mm)\nstone b: round 2 mm, gem ruby, along way, row 7, gap 0.5 mm"
    (fault,) = checked(text).faults
    assert fault.code == "clause-idle" and fault.remedy == "write number 7 in place of row"
    assert "clause-idle" not in codes(text.replace("row 7", "number 7"))


@pytest.mark.parametrize(
    "text, said, seen, remedy",
    [
        # Reckoned by hand: a bezel's wall of 0.6 mm round 6 mm, on 5 mm.
        ("disc base: across 5 mm, thick 1.2 mm\nstone s: round 6 mm, gem amethyst, on base, level back, out 0.4 mm\n"
         "bezel cup: for s, on base", "this is wider than base", "7.2", "make base 7.8"),
        ("wire stem: along way, round 2 mm\nstone s: pearl 5 mm, gem pearl, down 3.6 mm, out 1.5 mm\n"
         "pearl-cup cup: for s, on stem", "none of these places", "2.6 mm beside it", "move s 2.9"),
        ("band g: finger us 7, wide 3 mm, thick 1.8 mm\nstone s: round 4 mm, gem ruby, row 6, gap 0.3 mm, at top of g, "
         "over-finger 5 mm\nbasket head: for s, shared, on g", "the row is 2", None, "along around of"),
    ],
)  # fmt: skip
def test_what_misses_its_metal_is_told_by_measure(text: str, said: str, seen: str | None, remedy: str) -> None:
    way = "path way: through (-10, 0) to (10, 0 mm)\n" * ("along way" in text)
    told = [one for one in build("p.posy", files=Texts({"p.posy": way + text})).faults if one.level is Level.FAULT]
    figures = re.sub(r"(\d\.\d)\d mm", r"\1 mm", " | ".join(f"{one.message} | {one.seen} | {one.remedy}" for one in told))
    assert said in figures and remedy in figures and (seen is None or seen in figures), figures


@pytest.mark.parametrize("cut, points", [("pear 6 x 4", 1), ("marquise 8 x 4", 2), ("princess 5 x 5", 0)])
def test_a_halo_stands_a_stone_past_the_claw_on_a_sharp_point(cut: str, points: int) -> None:
    """It lies on the axis of the point, outside it; where all corners are sharp there is none."""
    text = f"stone c: {cut} mm, gem sapphire\nbasket b: for c, tip claw\nhalo h: for c, gem diamond, across 1.2 mm"
    piece = build("p.posy", files=Texts({"p.posy": text}))
    (stone,) = (one for one in piece.stones if one.size[0] > 2)
    small = [one.frame[:2, 3] for one in piece.stones if one.size[0] < 2]
    # Past a point by the claw, 0.9 mm or more, and half of 1.2 mm.
    past = [spot for spot in small if abs(spot[1]) < 1e-3 and abs(spot[0]) > stone.size[0] / 2 + 1.1]
    assert len(past) == points
    assert not [one.code for one in piece.faults if one.level is Level.FAULT]


SUM = "bar a: size 10 x 3 x 2 mm\nbar b: size 10 x 3 x 2 mm, up 8 mm\n"
SUM += "stone r: round 2 mm, gem garnet, row 3, every 3 mm, out 9 mm\nstone s: oval 3 x 2 mm, gem garnet, up 20 mm\n"


@pytest.mark.parametrize(
    "asked, count", [("centres of (r + s)", 4), ("centres of (s + r)", 4), ("ends of (a + b)", 2)]
)
def test_parts_put_together_answer_for_all_of_them(asked, count):
    assert figures(f"{SUM}spots all: at {asked}\n", "count of all") == [count]


def test_the_rims_of_parts_put_together_are_all_gone_along():
    text = f"{SUM}spots all: along girdle of (r + s), number 5\n"
    assert figures(text, "count of all") == [20]


@pytest.mark.parametrize("row", ["round 1.6 mm, gap 0.2 mm", "round 2 mm to 1.4 mm, number 4, gap 0.2 mm"])
def test_a_row_laid_by_its_gap_has_its_mirror_image_on_the_other_side(row):
    text = "band shank: finger us 7, wide 3 mm, thick 2 mm\n"
    text += f"stone side: {row}, gem garnet, along around of shank, stretch 8 % to 20 %, both-sides\n"
    side = laid(text, "side")
    spots, half = side.frames[:, :, 3], len(side.frames) // 2
    assert spots[:half] * (-1, 1, 1) == pytest.approx(spots[half:], abs=1e-6)
    widths = [side.kind(k).width for k in range(2 * half)]
    assert widths[:half] == widths[half:] and widths[0] >= widths[half - 1]


def test_beside_a_turned_stone_two_others_stand_right_and_left():
    text = "stone main: oval 8 x 6 mm, gem garnet{turn}\nstone pair: round 2 mm, gem garnet, next-to main\n"
    at = [laid(text.format(turn=turn), "pair").frames[:, :, 3] for turn in (", turn 90 deg", ", swivel 90 deg")]
    assert at[0] == pytest.approx(at[1], abs=1e-6) and abs(at[0][:, 0]).min() > 3


@pytest.mark.parametrize("turns", ["lean 20 deg", "tilt 10 deg", "turn 30 deg", "turn 30 deg, swivel 5 deg, lean 9 deg"])
def test_the_two_beside_a_stone_turn_as_mirror_images(turns):
    text = f"stone main: round 6 mm, gem garnet\nstone pair: pear 4 x 3 mm, gem garnet, next-to main, {turns}\n"
    right, left = laid(text, "pair").frames
    assert left == pytest.approx(np.diag([-1, 1, 1]) @ right @ np.diag([1, -1, 1, 1]), abs=1e-6)
    assert right[0, 3] > 4 and right[2, 3] == pytest.approx(0, abs=1e-6)
