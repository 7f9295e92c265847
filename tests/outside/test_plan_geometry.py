"""What the rules of the plan measure, against closed forms and scipy's own searches."""

import math

import numpy as np
import pytest
from scipy.spatial import cKDTree

from posy.compiler.geometry.inside import inside_loops
from posy.compiler.judging import judge
from posy.compiler.judging.edges import inside_by
from posy.compiler.judging.pairs import near_pairs
from posy.compiler.making.pipeline import _laid_out
from posy.lang.loader import Texts


def laid(text):
    judge.STRICT = True
    built, piece = _laid_out("p.posy", {}, None, Texts({"p.posy": text}))
    assert [f.message for f in built.faults] == []
    return piece


@pytest.mark.parametrize("count", [50, 400, 3000])
def test_near_pairs_are_those_of_a_kd_tree(count):
    """scipy.spatial.cKDTree as the reference, few points (all pairs) and many (cells)."""
    random = np.random.default_rng(7)
    first, second = random.uniform(-20, 20, (count, 3)), random.uniform(-20, 20, (count, 3))
    found = list(zip(*(side.tolist() for side in near_pairs(first, second, 2.5)), strict=True))
    near = cKDTree(first).query_ball_tree(cKDTree(second), 2.5)
    assert found == [(i, j) for i, row in enumerate(near) for j in sorted(row)]


def test_inside_a_bar_by_its_closed_form():
    """A rectangle 8 x 4 mm with 1 mm corners: its straight sides, and the arc of a corner."""
    outline = "rectangle", 8.0, 4.0, 1.0
    points = np.array([(0, 0), (3.9, 0), (0, -1.5), (5, 0), (3, 1), (3.5, 1.5), (4, 2)])
    arc = math.sqrt(0.5)
    wanted = [2, 0.1, 0.5, -1, 1, 1 - arc, 1 - 2 * arc]
    assert inside_by(outline, points) == pytest.approx(wanted)


def test_traced_outlines_agree_with_the_exact_ones():
    random = np.random.default_rng(3)
    points = random.uniform(-5, 5, (4000, 2))
    for outline in (("rectangle", 8.0, 4.0, 1.0), ("circle", 7.0)):
        from posy.compiler.geometry.outlines import trace

        loop = trace(outline, 0.0005)
        assert np.abs(inside_loops([loop], points) - inside_by(outline, points)).max() < 0.001


def test_inside_a_triangle_by_the_line_through_two_points():
    loop = np.array([(0.0, 0.0), (6.0, 0.0), (0.0, 8.0)])
    # In the middle of the inscribed circle: r = (a + b - c) / 2 = 2 for the sides 6, 8, 10.
    assert inside_loops([loop], np.array([(2.0, 2.0)])) == pytest.approx([2.0])
    assert inside_loops([loop], np.array([(-3.0, 4.0), (9.0, 0.0)])) == pytest.approx([-3.0, -3.0])


def gap(text):
    (one,) = laid(text).gaps
    return one.width


@pytest.mark.parametrize("every", [2.2, 2.02, 1.9])
def test_gap_of_round_stones_is_pitch_less_stone(every):
    text = f"stone row: round 2 mm, gem diamond, row 2, every {every} mm\nball: across 1 mm\n"
    assert gap(text) == pytest.approx(every - 2)


@pytest.mark.parametrize(("every", "swivel", "wide"), [(6.5, 0, 6), (6.1, 0, 6), (5.9, 0, 6), (4.3, 90, 4)])
def test_gap_of_ovals_end_to_end_and_side_to_side(every, swivel, wide):
    """Ellipses 6 x 4 mm: the gap lies on the line through their middles."""
    text = (
        f"stone row: oval 6 x 4 mm, gem diamond, row 2, every {every} mm, swivel {swivel} deg\n"
        "ball: across 1 mm\n"
    )
    assert gap(text) == pytest.approx(every - wide, abs=0.005)


def test_stones_far_apart_have_no_gap_worth_a_word():
    text = "stone row: oval 6 x 4 mm, gem diamond, row 2, every 7 mm\nball: across 1 mm\n"
    assert laid(text).gaps == []


def test_gap_of_stones_round_a_ring_is_between_tilted_girdles():
    """Two girdles of radius r, their planes meeting at an angle 2a, centres R from the axis:
    the nearest points lie in the plane of the ring, 2 (R sin a - r cos a) apart."""
    radius, stone, step = 10.0, 2.0, 13.0
    text = (
        f"workpiece one: lean {step / 2} deg\n"
        f"  stone a: round {stone} mm, gem diamond, out {radius} mm\n"
        f"workpiece two: lean -{step / 2} deg\n"
        f"  stone b: round {stone} mm, gem diamond, out {radius} mm\nball c: across 1 mm\n"
    )
    half = math.radians(step / 2)
    wanted = 2 * (radius * math.sin(half) - stone / 2 * math.cos(half))
    assert gap(text) == pytest.approx(wanted, abs=0.01)


@pytest.mark.parametrize("bite", [0.1, 0.25, 0.4])
def test_bite_of_a_prong_is_that_of_its_line(bite):
    piece = laid(
        "stone one: round 4 mm, gem diamond\nbar f: size 9 x 9 x 3 mm, under one\n"
        f"prong p: for one, count 4, wire 0.8 mm, bite {bite * 100:g} %, rise 0.5 mm\n"
    )
    assert [g.bite / g.wire for g in piece.grips] == pytest.approx([bite] * 4)
    assert {g.count for g in piece.grips} == {4}


def test_a_leaning_prong_bites_where_it_passes_the_girdle():
    """A wire that leans by a: its section with the girdle plane is an ellipse, but its axis
    passes that plane at the place the line says; the bite counts from the axis."""
    piece = laid(
        "stone one: round 4 mm, gem diamond\nbar f: size 9 x 9 x 3 mm, under one\n"
        "prong p: for one, count 4, wire 0.8 mm, bite 25 %, rise 0.5 mm, splay 10 deg\n"
    )
    assert [g.bite / g.wire for g in piece.grips] == pytest.approx([0.25] * 4, abs=0.02)


def test_copies_and_groups_carry_their_prongs_and_seats():
    piece = laid(
        "workpiece head: turn 30 deg\n  stone one: round 4 mm, gem diamond\n"
        "  bar f: size 9 x 9 x 3 mm, under one\n  seat: for one, in f\n"
        "  prong p: for one, count 4, wire 0.9 mm\n"
        "copy again: of head, right 20 mm\n"
    )
    assert len(piece.stones.kind) == 2
    assert len(piece.grips) == 8
    assert sorted(piece.seated) == [0, 1]


def test_edge_below_and_depth_of_a_stone_in_a_bar():
    piece = laid(
        "bar f: size 10 x 5 x 3 mm\nstone one: round 2 mm, gem diamond, at face of f, "
        "right 3 mm, inward 0.2 mm\nseat: for one, in f\n"
    )
    (bed,) = piece.beds
    assert (bed.edge, bed.sunk, bed.below) == pytest.approx((1.0, 0.2, 2.8))


def test_a_stone_set_from_the_back_is_measured_from_there():
    piece = laid(
        "bar f: size 10 x 5 x 3 mm\nstone one: round 2 mm, gem diamond, at back of f, "
        "inward 0.3 mm\nseat: for one, in f\n"
    )
    (bed,) = piece.beds
    assert (bed.sunk, bed.below) == pytest.approx((0.3, 2.7))


def test_a_stone_on_a_shank_is_measured_to_its_bore():
    piece = laid(
        "band s: inside 17 mm, wide 4 mm, thick 2.2 mm, profile flat\n"
        "stone one: oval 3 x 2 mm, gem diamond, at top of s, inward 0.1 mm\n"
        "seat: for one, in s\n"
    )
    (bed,) = piece.beds
    # Its long way lies round the shank: there the face falls away by the height of the arc (sagitta).
    radius, half = 17 / 2 + 2.2, 1.5
    sunk = 0.1 - (radius - math.sqrt(radius**2 - half**2))
    assert (bed.edge, bed.sunk, bed.below) == pytest.approx((1.0, sunk, 2.1), abs=0.002)
