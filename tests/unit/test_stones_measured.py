"""Stones whose depth and weight the text tells as measured."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built, made

from posy.compiler.making.pipeline import build
from posy.compiler.making.weights import weigh
from posy.lang.loader import Texts
from posy.stdlib.cuts import CUTS, as_deep

STONE = "stone a: {}, gem sapphire{}\nbezel cup: for a, wall 0.6 mm\n"


@pytest.mark.parametrize(
    ("size", "deep"),
    [("round 6 mm", 4.1), ("oval 7 x 5 mm", 3.6), ("emerald 7 x 5 mm", 3.8), ("pear 8 x 5 mm", 2.9),
     ("cabochon 8 x 6 mm", 3.6), ("heart 6 x 6 mm", 3.9)],
)  # fmt: skip
def test_a_measured_depth_is_the_depth_of_the_solid_and_of_its_seat(size, deep):
    made = built(STONE.format(size, f", deep {deep} mm"))
    cut, *figures = size.removesuffix(" mm").split(" ")
    sides = [float(part) for part in figures if part != "x"]
    long, wide = sides[0], sides[-1]
    solid = CUTS[as_deep(CUTS[cut], long, wide, deep)].facets(long, wide)
    low, high = solid.points[:, 2].min(), solid.points[:, 2].max()
    assert high - low == pytest.approx(deep, abs=1e-4)
    usual = built(STONE.format(size, ""))
    assert made.stones[0].carats > 0 and made.stones[0].cut == cut
    ratio = made.stones[0].carats / usual.stones[0].carats
    assert ratio == pytest.approx(deep / CUTS[cut].total_depth(long, wide), rel=1e-4)
    assert made.parts[0].volume != pytest.approx(usual.parts[0].volume, rel=1e-4)


def test_a_weighed_stone_counts_as_the_scales_had_it():
    weights, _ = weigh(built(STONE.format("oval 7 x 5 mm", ", weighs 0.97 ct")))
    (row,) = weights.stones
    assert (row.carats_each, row.weighed, weights.carats_by) == (pytest.approx(0.97), True, "the scales")
    assert row.carats_volume_each == pytest.approx(0.776, abs=0.01)


@pytest.mark.parametrize(
    ("clauses", "code"),
    [
        (", deep 0.5 mm", "odd-size"), (", deep 9 mm", "odd-size"), (", weighs 0.97 g", "odd-size"),
        (", row 2, every 9 mm, deep 3.6 mm", None),
    ],
)  # fmt: skip
def test_slips_of_a_measured_stone_are_told(clauses, code):
    text = "stone a: oval 7 x 5 mm, gem sapphire" + clauses + "\nbar b: size 30 x 9 x 5 mm\n"
    faults = [f.code for f in build("p.posy", files=Texts({"p.posy": text})).faults
              if f.level.value == "fault"]  # fmt: skip
    assert (code in faults) if code else "odd-size" not in faults


def test_a_graded_row_has_no_one_depth():
    text = "stone a: round 2 mm to 3 mm, gem ruby, row 4, every 3.4 mm, deep 1.5 mm\n"
    assert "clauses-disagree" in [f.code for f in build("p.posy", files=Texts({"p.posy": text})).faults]


UPRIGHT = "stone a: {}, gem sapphire{}\nbasket cup: for a\n"


@pytest.mark.parametrize(
    ("upright", "lying"),
    [("pear 5 x 8 mm", "pear 8 x 5 mm"), ("oval 5 x 7 mm", "oval 7 x 5 mm"), ("emerald 5 x 7 mm", "emerald 7 x 5 mm"),
     ("marquise 4 x 8 mm to 3 x 6 mm", "marquise 8 x 4 mm to 6 x 3 mm")],
)  # fmt: skip
def test_a_stone_told_as_width_by_height_stands_upright(upright, lying):
    row = ", row 3, gap 0.6 mm" if " to " in upright else ""
    one, other = (
        made(UPRIGHT.format(*said), check_metal=False)
        for said in ((upright, row), (lying, f"{row}, swivel 90 deg"))
    )
    assert [(a.size, a.frame.tolist()) for a in one.stones] == [
        (b.size, b.frame.tolist()) for b in other.stones
    ]
    assert one.parts[0].volume == other.parts[0].volume
    height = float(upright.split(" mm")[0].split()[-1])
    first = built(UPRIGHT.format(f"{upright.split(' mm')[0]} mm", "")).parts[0].points
    assert np.ptp(first[:, 1]) > np.ptp(first[:, 0]) and np.ptp(first[:, 1]) == pytest.approx(height, abs=2.2)


def test_above_an_upright_stone_is_above():
    made = built(
        "stone a: pear 5 x 8 mm, gem sapphire\nbezel cup: for a, wall 0.6 mm\nbail eye: at top of cup\n"
    )
    low, high = made.parts[0].points[:, 1].min(), made.parts[0].points[:, 1].max()
    # The point is up: the loop stands above it, the round end is 4 mm below and its wall behind that.
    assert high > 4.0 + 2.0 and -4.0 - 1.2 < low < -4.0 - 0.6


def test_an_upright_pair_beside_a_stone_points_up_on_both_sides():
    text = "stone a: round 6 mm, gem sapphire\nstone b: pear 3 x 5 mm, gem sapphire, next-to a\nprong c: for a + b\n"
    right, left = (one.frame[:, 0] for one in made(text).stones[1:])
    assert right[1] == pytest.approx(1.0) and left[1] == pytest.approx(1.0)


def test_sizes_of_a_row_are_not_half_of_them_upright():
    text = "stone a: oval 5 x 7 mm to 7 x 5 mm, gem sapphire, row 3, gap 1 mm\n"
    assert "odd-size" in [fault.code for fault in made(text).faults]
