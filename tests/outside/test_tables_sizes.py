"""Finger sizes, wire gauges and units against standards and published charts."""

import math
from fractions import Fraction
from itertools import pairwise

import pytest
import scipy.constants

from posy.lang.measures import wire_gauge
from posy.lang.values import UNITS
from posy.stdlib.fingers import SYSTEMS, inside_diameter, size_near, within_reach
from posy.stdlib.rows import read_rows


def diameter(system, size):
    """The inside diameter, which must be found."""
    found, problem = inside_diameter(system, size)
    assert problem == ""
    return found


@pytest.mark.parametrize(("size", "mm", "round_mm"), [
    (7, 17.323, 54.421), (8, 18.136, 56.975), (10, 19.761, 62.082),
])  # fmt: skip
def test_us_sizes(size, mm, round_mm):
    """RS ringsizely.com: 0.458 + 0.032 s inches."""
    assert diameter("us", size) == pytest.approx(mm, abs=0.005)
    assert diameter("us", size) * math.pi == pytest.approx(round_mm, abs=0.005)


@pytest.mark.parametrize(("size", "mm"), [
    (4, 14.86), (5, 15.70), (6, 16.51), (7, 17.35), (8, 18.19), (9, 18.99), (10, 19.84),
    (11, 20.68), (12, 21.41),
])  # fmt: skip
def test_us_sizes_on_a_suppliers_mandrel(size, mm):
    """RGR riogrande.com Measuring-A-Ring-Blank; mandrels stray by up to 0.11 mm."""
    assert diameter("us", size) == pytest.approx(mm, abs=0.111)


@pytest.mark.parametrize(("size", "mm"), [(54, 17.189), (60, 19.099)])
def test_iso_sizes(size, mm):
    """ISO 8653: the size is the inside circumference, D = C / pi (old.zwfzb.com, annex A)."""
    assert diameter("iso", size) == pytest.approx(mm, abs=0.001)


def test_iso_reaches_the_whole_stick():
    """ISO 8653 stick: 41 to 76 (ulstandardspdf.com bs-en-iso-8653-2014)."""
    assert diameter("iso", 41) == pytest.approx(13.05, abs=0.005)
    assert diameter("iso", 76) == pytest.approx(24.19, abs=0.005)


@pytest.mark.parametrize(("size", "around"), [
    ("C", 40.0), ("L", 51.25), ("N", 53.75), ("Z", 68.75), ("Z+1", 70.0),
])  # fmt: skip
def test_uk_letters_by_the_standard(size, around):
    """BS 6820:1987, circumference 37.5 + 1.25 mm a letter (from memory)."""
    assert diameter("uk", size) * math.pi == pytest.approx(around, abs=1e-9)


# DBC designbuildcast.co.uk/wp2/useful-tips: letter, circumference mm, US size beside it.
OLD_UK = """
A 37.7 -|B 38.96 -|C 40.53 1.25|D 41.78 1.75|E 43.04 2.25|F 44.3 2.75|G 45.55 3.25
H 46.81 3.75|I 48.07 4.25|J 49.32 4.75|K 50.58 5.25|L 51.84 5.75|M 53.09 6.25
N 54.35 6.75|O 55.61 7.25|P 56.86 7.75|Q 58.12 8.25|R 59.38 8.75|S 60.63 9.25
T 61.89 9.75|U 63.15 10.5|V 64.4 10.75|W 65.66 11.25|X 66.92 11.75|Y 68.17 12.25
Z 69.43 12.75
"""
OLD_ROWS = [entry.split() for entry in OLD_UK.strip().replace("\n", "|").split("|")]


@pytest.mark.parametrize(("letter", "around", "us"), OLD_ROWS)
def test_older_uk_letters_on_a_casting_houses_chart(letter, around, us):
    found = diameter("uk-old", letter)
    assert found * math.pi == pytest.approx(float(around), abs=0.01)
    # The chart's own US column agrees to a quarter size, save U (10.5 in a row of 10.25).
    if us != "-" and letter != "U":
        assert found == pytest.approx(diameter("us", us), abs=0.27)


def test_the_two_uk_conventions_differ_by_half_a_letter():
    gap = (diameter("uk-old", "N") - diameter("uk", "N")) * math.pi
    assert gap == pytest.approx(0.6, abs=0.02)


COMPARISON = read_rows("fingers")


@pytest.mark.parametrize("row", COMPARISON, ids=lambda row: row["us"])
def test_comparison_table(row):
    """Facts sheet section 5: each system's nearest size to the US size (RS, CR, BS 6820)."""
    mm = diameter("us", row["us"])
    assert float(row["diameter"]) == pytest.approx(mm, abs=0.006)
    assert float(row["circumference"]) == pytest.approx(mm * math.pi, abs=0.006)
    assert abs(diameter("iso", row["iso"]) - mm) * math.pi <= 0.501
    # Half a half letter is 0.3125 mm round; half a Japanese size 1/6 mm across.
    assert abs(diameter("uk", row["uk"]) - mm) * math.pi <= 0.3126
    assert abs(diameter("jp", row["jp"]) - mm) <= 1 / 6 + 0.006


@pytest.mark.parametrize("row", COMPARISON)
def test_the_marked_size_nearest_to_a_ring_is_that_of_the_comparison_table(row):
    """US sizes and UK letters by halves, ISO and Japan whole: ringsizely.com, as the table has them."""
    inside = float(row["diameter"])
    assert size_near("us", inside) == f"us {row['us'].replace('.5', ' 1/2')}"
    assert size_near("iso", inside) == f"iso {row['iso']}"
    assert size_near("uk", inside) == f"uk {row['uk']}"


@pytest.mark.parametrize(("system", "said", "told"), [
    ("us", "20", "us 16"), ("iso", "30", "iso 36"), ("uk", "Z+9", "uk Z+7"), ("jp", "0", "jp 1"), ("us", "tall", ""),
    ("eu", "54", ""),
])  # fmt: skip
def test_a_size_past_its_scale_is_answered_by_the_end_of_that(system, said, told):
    assert within_reach(system, said) == told


def test_us_7_is_uk_n_and_a_half():
    """RS: whole US sizes fall near UK half letters; ISO 54, Japan 14 (CR)."""
    row = next(row for row in COMPARISON if row["us"] == "7")
    assert (row["uk"], row["iso"], row["jp"]) == ("N 1/2", "54", "14")


def test_japanese_sizes():
    """CR checkringsize.pages.dev: size 1 is 13.0 mm, a third of a mm each."""
    assert diameter("jp", 1) == 13.0
    assert diameter("jp", 13) == pytest.approx(17.0)


@pytest.mark.parametrize("text", ["6.5", "6 1/2", "6½", " 6 1/2 ", 6.5])
def test_ways_to_write_a_half_size(text):
    assert diameter("us", text) == pytest.approx(11.6332 + 0.8128 * 6.5)


@pytest.mark.parametrize("text", ["N 1/2", "N½", "n1/2", "n ½"])
def test_ways_to_write_a_half_letter(text):
    assert diameter("uk", text) * math.pi == pytest.approx(54.375)


@pytest.mark.parametrize(
    ("system", "size", "says"),
    [
        ("us", "17", "0 to 16"), ("us", 99.0, "size 99 is outside"),
        ("us", "N", "a number"), ("us", "-1", "does not read"), ("us", "", "does not read"),
        ("us", "61/2", "does not read"), ("us", "6.5 1/2", "does not read"),
        ("us", float("nan"), "does not read"), ("us", float("inf"), "does not read"),
        ("iso", 12, "36 to 80"), ("iso", "9" * 5000, "does not read"),
        ("uk", 7, "a letter"), ("uk", "Z+8", "A to Z+7"), ("uk", "N+1", "does not read"),
        ("uk", "NN", "does not read"), ("uk-old", "Z+1", "A to Z"),
        ("jp", "31", "1 to 30"), ("jp", "٧", "does not read"),
        ("elvish", "7", "iso, us, uk, uk-old, jp"),
    ],
)  # fmt: skip
def test_a_bad_size_is_explained(system, size, says):
    found, problem = inside_diameter(system, size)
    assert found is None
    assert says in problem
    assert len(problem) < 250


@pytest.mark.parametrize("system", SYSTEMS.values(), ids=lambda s: s.name)
def test_sizes_rise_and_stay_on_a_finger(system):
    steps = int(4 * (system.highest - system.lowest))
    found = [system.diameter(system.lowest + k / 4) for k in range(steps + 1)]
    assert all(low < high for low, high in pairwise(found))
    assert found[0] > 11 and found[-1] < 26


@pytest.mark.parametrize(("gauge", "mm"), [
    (8, 3.2636), (9, 2.9064), (10, 2.5882), (11, 2.3048), (12, 2.0525), (13, 1.8278),
    (14, 1.6277), (15, 1.4495), (16, 1.2908), (17, 1.1495), (18, 1.0237), (19, 0.9116),
    (20, 0.8118), (21, 0.7229), (22, 0.6438), (23, 0.5733), (24, 0.5106), (25, 0.4547),
    (26, 0.4049), (27, 0.3606), (28, 0.3211), (29, 0.2859), (30, 0.2546),
])  # fmt: skip
def test_wire_gauge_table(gauge, mm):
    """ASTM B258-02 table (AW en-academic.com and cvrt.me)."""
    assert wire_gauge(gauge) == pytest.approx(mm, abs=0.0001)


def test_wire_gauge_fixed_points():
    """ASTM B258: 0000 is 0.46 inch and 36 is 0.005 inch, exactly."""
    assert wire_gauge(-3) == pytest.approx(0.46 * 25.4, rel=1e-12)
    assert wire_gauge(36) == pytest.approx(0.005 * 25.4, rel=1e-12)


@pytest.mark.parametrize(("name", "kilograms"), [
    ("ct", scipy.constants.carat), ("ozt", scipy.constants.troy_ounce),
    ("dwt", 24 * scipy.constants.grain), ("g", scipy.constants.gram),
])  # fmt: skip
def test_masses_are_the_physicists(name, kilograms):
    """Source: scipy.constants (NIST SP 811)."""
    assert UNITS[name][1] == pytest.approx(kilograms * 1000, rel=1e-14)


def test_lengths_are_the_physicists():
    """Source: scipy.constants; 1 in = 25.4 mm by the 1959 agreement."""
    assert pytest.approx(scipy.constants.inch * 1000, rel=1e-15) == UNITS["in"][1]
    assert UNITS["cm"][1] == 10


def test_troy_masses_are_exact():
    """Legal: 31.1034768 g and 1.55517384 g; a troy ounce is 20 pennyweight."""
    assert Fraction(str(UNITS["ozt"][1])) == Fraction("31.1034768")
    assert Fraction(str(UNITS["dwt"][1])) == Fraction("1.55517384")
    assert Fraction(str(UNITS["ozt"][1])) == 20 * Fraction(str(UNITS["dwt"][1]))
    assert UNITS["ct"][1] == 0.2
