"""Sizes, heights, angles and weights of stone cuts: our own promises about our own code."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest

from posy.stdlib import stones
from posy.stdlib.cuts import CUTS, Cut, find

EVERY = pytest.mark.parametrize("cut", CUTS.values(), ids=lambda cut: cut.name)


def usual(cut: Cut, width: float = 6.0) -> tuple[float, float]:
    return cut.ratio * width, width


def test_a_cut_is_found_by_each_of_its_names():
    assert all(find(name) is cut for cut in CUTS.values() for name in (cut.name, *cut.also))
    assert find("asscher") is CUTS["square-step"]
    assert find("blob") is None


def test_no_name_is_claimed_twice():
    names = [name for cut in CUTS.values() for name in (cut.name, *cut.also)]
    assert len(names) == len(set(names))


@EVERY
def test_usual_sizes_have_no_problem(cut: Cut):
    assert cut.problem(*usual(cut)) is None
    assert cut.problem(*usual(cut, 1.0)) is None


@EVERY
@pytest.mark.parametrize("bad", [0.0, -3.0, math.nan, math.inf, 0.1, 2000.0])
def test_a_bad_measure_is_named_with_its_limits(cut: Cut, bad: float):
    told = cut.problem(bad, 6.0)
    assert told is not None
    assert f"{bad:g} mm" in told and "0.5 to 100 mm" in told
    with pytest.raises(ValueError, match=cut.name):
        cut.facets(bad, 6.0)


def test_a_ratio_out_of_bounds_says_so_and_how_to_mend_it():
    told = CUTS["marquise"].problem(5.0, 10.0)
    assert told is not None
    assert "0.50 times as long as wide" in told and "from 1.4 to 3.5" in told
    assert CUTS["marquise"].stands(5.0, 10.0) and not CUTS["marquise"].stands(10.0, 5.0)
    assert not CUTS["marquise"].stands(1.0, 10.0) and not CUTS["cushion"].stands(6.0, 6.0)
    round_told = CUTS["round"].problem(6.0, 5.0)
    assert round_told is not None and "as long as it is wide" in round_told


def test_a_narrow_end_is_for_tapered_stones_only():
    assert CUTS["tapered-baguette"].problem(5.0, 2.0, 1.5) is None
    told = CUTS["tapered-baguette"].problem(5.0, 2.0, 0.5)
    assert told is not None and "narrow end is 0.5 mm of 2 mm" in told
    told = CUTS["round"].problem(5.0, 5.0, 3.0)
    assert told is not None and "no narrow end" in told


@EVERY
def test_heights_add_up_to_the_mesh(cut: Cut):
    length, width = usual(cut)
    heights = (
        cut.crown_height(length, width)
        + cut.girdle_thickness(length, width)
        + cut.pavilion_depth(length, width)
    )
    assert heights == pytest.approx(cut.total_depth(length, width))
    points = cut.facets(length, width).points
    assert points[:, 2].max() - points[:, 2].min() == pytest.approx(heights, abs=1e-6)
    top = cut.crown_height(length, width) + cut.girdle_thickness(length, width) / 2
    if cut.domed:
        assert points[:, 2].min() == 0.0
    else:
        assert points[:, 2].max() == pytest.approx(top, abs=1e-6)


@EVERY
def test_size_from_weight_is_the_inverse_of_weight(cut: Cut):
    for carats in (0.05, 1.0, 5.0):
        length, width = cut.size_for(carats, 4.0)
        assert cut.carats(length, width, density=4.0) == pytest.approx(carats, rel=1e-6)
        assert length == pytest.approx(width * cut.ratio)
    with pytest.raises(ValueError, match="size limits"):
        cut.size_for(1e9, 4.0)
    with pytest.raises(ValueError, match="no stone"):
        cut.size_for(0.0, 4.0)


@EVERY
def test_formula_and_solid_agree_at_the_usual_ratio(cut: Cut):
    weight = stones.weigh(cut, *usual(cut), None, 3.52)
    assert weight.carats_volume == pytest.approx(weight.carats_formula, rel=0.05)


def test_an_unusual_ratio_is_told_apart():
    # The published emerald rows step from 0.0080 to 0.0092 at 1.25 times as long as wide.
    weight = stones.weigh(CUTS["emerald"], 6.0, 6.0 / 1.24, None, 3.52)
    assert weight.carats_volume != pytest.approx(weight.carats_formula, rel=0.05)


@EVERY
def test_a_cabochons_and_any_girdle_is_a_real_thickness(cut: Cut):
    for width in (1.0, 6.0, 20.0):
        thick = cut.girdle_thickness(width * cut.ratio, width)
        if cut.name in ("pearl", "half-pearl"):
            assert thick == 0
        elif cut.name == "rectangle":
            assert thick == pytest.approx(cut.total_depth(width * cut.ratio, width))
        elif cut.domed and not cut.facet_count:
            assert 0.05 * width <= thick <= 0.8 or thick == 0.8
        else:
            assert 0.02 * width <= thick <= 0.05 * width


def test_names_sizes_and_weights_need_no_numpy():
    code = (
        "import sys; from posy.stdlib.cuts import CUTS;CUTS['round'].carats(6, 6, density=3.52); "
        "CUTS['pear'].problem(9, 6);sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
