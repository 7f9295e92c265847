"""Stones whose depth and weight the text tells as measured."""

from __future__ import annotations

import pytest
from texts import built

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
