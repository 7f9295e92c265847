"""Figures: units against published definitions, arithmetic with dimensions, honest digits."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import constants

from posy.lang.expressions import reckoner
from posy.lang.faults import Fault
from posy.lang.measures import order, wire_gauge
from posy.lang.parse import parse_value
from posy.lang.scope import Scope
from posy.lang.shown import apart, digits, quantity
from posy.lang.source import Source
from posy.lang.suggest import distance, nearest
from posy.lang.values import (
    ANGLE,
    BROKEN,
    LENGTH,
    MASS,
    NUMBER,
    UNITS,
    Dimension,
    Point,
    Quantity,
    Sequence,
    Size,
    Truth,
)


def value(text: str) -> tuple[Any, list[Fault]]:
    node, wrong = parse_value(Source(text, "t"))
    assert node is not None, wrong
    faults: list[Fault] = list(wrong)
    return reckoner(None, frozenset(("garnet",)), faults.append).value(node, Scope()), faults


def figure(text: str) -> Quantity:
    made, faults = value(text)
    assert faults == [] and isinstance(made, Quantity)
    return made


# Source: SciPy's constants (SI base units; CODATA and legal definitions).
@pytest.mark.parametrize(
    ("unit", "reference"),
    [
        ("mm", constants.milli / constants.milli),
        ("cm", constants.centi / constants.milli),
        ("in", constants.inch / constants.milli),
        ("g", constants.gram / constants.gram),
        ("ct", constants.carat / constants.gram),
        ("ozt", constants.troy_ounce / constants.gram),
        ("dwt", constants.troy_ounce / constants.gram / 20),
        ("deg", constants.degree / math.radians(1)),
    ],
)
def test_units_against_scipy(unit: str, reference: float) -> None:
    assert UNITS[unit][1] == pytest.approx(reference, rel=1e-12)
    assert figure(f"1 {unit}").value == pytest.approx(reference, rel=1e-12)


def test_a_gauge_is_a_length() -> None:
    assert figure("18 ga") == Quantity(wire_gauge(18), LENGTH)


@pytest.mark.parametrize(("text", "remedy"), [("51 ga", "from 0 to 50"), ("18.5 ga", "18 ga or 19 ga")])
def test_a_gauge_that_is_none_is_told(text: str, remedy: str) -> None:
    made, faults = value(text)
    assert made is BROKEN
    assert [fault.code for fault in faults] == ["gauge-range"] and remedy in (faults[0].remedy or "")


@pytest.mark.parametrize(
    ("text", "number", "dimension"),
    [
        ("2 + 3 * 4", 14, NUMBER),
        ("(2 + 3) * 4", 20, NUMBER),
        ("10 - 2 - 3", 5, NUMBER),
        ("24 / 2 / 3", 4, NUMBER),
        ("- -2 * -3", -6, NUMBER),
        ("2 mm * 3 mm", 6, Dimension(2)),
        ("2 mm * 3 mm * 4 mm", 24, Dimension(3)),
        ("6 mm / 3 mm", 2, NUMBER),
        ("6 g / 3 mm", 2, Dimension(-1, 1)),
        ("sqrt(9 mm * 4 mm)", 6, LENGTH),
        ("1 in + 1 cm", 35.4, LENGTH),
        ("0 + 2 mm", 2, LENGTH),
        ("2 mm - 0", 2, LENGTH),
        ("40 % * 5 mm", 2, LENGTH),
        ("(100 % - 40 %) * 5 mm", 3, LENGTH),
        ("5 ct + 1 g", 2, MASS),
        ("min(3 mm, 2 mm, 1 in)", 2, LENGTH),
        ("max(0, 2 mm)", 2, LENGTH),
        ("max(0, -2 mm)", 0, LENGTH),
        ("abs(-2 mm)", 2, LENGTH),
        ("round(2.5)", 3, NUMBER),
        ("round(-2.5)", -2, NUMBER),
        ("round(2.34 mm, 0.1 mm)", 2.3, LENGTH),
        ("floor(0.3 mm, 0.1 mm)", 0.3, LENGTH),
        ("ceil(0.3 mm, 0.1 mm)", 0.3, LENGTH),
        ("floor(-2.1)", -3, NUMBER),
        ("ceil(7.2)", 8, NUMBER),
        ("sin(30 deg)", 0.5, NUMBER),
        ("cos(90 deg)", 0, NUMBER),
        ("cos(-90 deg)", 0, NUMBER),
        ("sin(180 deg)", 0, NUMBER),
        ("sin(0)", 0, NUMBER),
        ("tan(45 deg)", 1, NUMBER),
        ("asin(1 mm / 2 mm)", 30, ANGLE),
        ("acos(1.0000000000001)", 0, ANGLE),
        ("atan(1)", 45, ANGLE),
    ],
)
def test_arithmetic(text: str, number: float, dimension: Dimension) -> None:
    made = figure(text)
    assert made.value == pytest.approx(number, rel=1e-12, abs=1e-15)
    assert made.dimension == dimension


@pytest.mark.parametrize("turn", range(-720, 721, 15))
def test_circular_functions_against_the_standard_library(turn: int) -> None:
    for name in ("sin", "cos"):
        wanted = getattr(math, name)(math.radians(turn))
        assert figure(f"{name}({turn} deg)").value == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "yes"),
    [
        ("0.1 mm * 3 is 0.3 mm", True),
        ("0.1 mm * 3 <= 0.3 mm", True),
        ("0.1 mm * 3 > 0.3 mm", False),
        ("1.00000001 < 1.00000002", True),
        ("1 in is 25.4 mm", True),
        ("2 mm > 0", True),
        ('garnet is "garnet"', True),
        ("garnet is not garnet", False),
        ("1 < 2 and not 2 < 1", True),
        ("not not 1 < 2", True),
        ("1 < 2 or 1 / 0 < 2", True),  # the first decides
    ],
)
def test_tests(text: str, yes: bool) -> None:
    assert value(text) == (Truth(yes), [])


def test_a_unit_at_the_end_serves_the_bare_numbers_before_it() -> None:
    mm = [Quantity(2.0, LENGTH), Quantity(-5.0, LENGTH), Quantity(3.0, LENGTH)]
    assert value("2 x -5 x 3 mm")[0] == Size(tuple(mm))
    assert value("(2, -5, 3 mm)")[0] == Point(tuple(mm))
    assert value("2 to -5 to 3 mm")[0] == Sequence(tuple(mm), ("to", "to"))
    assert value("(1 + 1) x -5 x 3 mm")[0] == Size(tuple(mm))
    assert value("2 x 0.5 in")[0] == Size((Quantity(50.8, LENGTH), Quantity(12.7, LENGTH)))
    assert value("18 x 18 ga")[0].parts[0] == value("18 ga")[0]
    # not those that are reckoned from something with a name, or have a unit
    assert value("2 x 5")[0] == Size((Quantity(2.0), Quantity(5.0)))
    assert value("1 cm x 3 mm")[0].parts[0].value == 10


@pytest.mark.parametrize("text", ["1 / 0", "2 mm + 1 g", "sqrt(-1)", "1 ga * 2 * garnet"])
def test_a_broken_value_is_told_once_and_spreads_in_silence(text: str) -> None:
    made, faults = value(f"2 * ({text}) + 3 mm to ({text}) * 2")
    assert made is BROKEN
    assert len({fault.code for fault in faults}) == 1


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.45, "0.45 mm"),
        (2.0, "2 mm"),
        (20.85, "20.85 mm"),
        (0.1 + 0.2, "0.3 mm"),
        (1 / 3, "0.333 mm"),
        (0.0004, "0.0004 mm"),
        (-0.0, "0 mm"),
        (1234.5, "1234.5 mm"),
        (0.0005, "0.001 mm"),
        (-2.5, "-2.5 mm"),
        (100.0, "100 mm"),
    ],
)
def test_figures_are_shown_with_honest_digits(number: float, text: str) -> None:
    assert quantity(Quantity(number, LENGTH)) == text


def test_two_figures_are_told_apart() -> None:
    near = Quantity(0.80000004, LENGTH), Quantity(0.8, LENGTH)
    assert apart(*near) == ("0.80000004 mm", "0.8 mm")
    assert quantity(Quantity(0.4, NUMBER, True)) == "40 %"
    assert quantity(Quantity(6.0, Dimension(2))) == "6 mm²"
    assert quantity(Quantity(6.0, Dimension(-3, 1))) == "6 g/mm³"


@given(st.floats(-1e6, 1e6))
def test_shown_digits_are_near_the_figure(number: float) -> None:
    assert float(digits(number)) == pytest.approx(number, abs=0.0006, rel=0.01)


@given(st.floats(1e-6, 1e6), st.floats(1e-6, 1e6))
def test_order_is_that_of_the_numbers_but_for_hairs(left: float, right: float) -> None:
    assert order(left, right) == -order(right, left)
    assume(abs(left - right) > 1e-8 * max(left, right))
    assert order(left, right) == (-1 if left < right else 1)


# Worked examples of the distance, from memory: kitten/sitting is the textbook one (3); two
# neighbours swapped count as one slip (Damerau).
@pytest.mark.parametrize(
    ("left", "right", "far"),
    [
        ("kitten", "sitting", 3),
        ("ab", "ba", 1),
        ("corner", "cornr", 1),
        ("abc", "abc", 0),
        ("", "abc", 3),
        ("stone", "stnoe", 1),
    ],
)
def test_distance(left: str, right: str, far: int) -> None:
    assert distance(left, right, 5) == far
    assert distance(right, left, 5) == far
    assert distance(left, right, far) == far
    if far:
        assert distance(left, right, far - 1) == far


def test_nearest() -> None:
    assert nearest("cornr", ["wall", "corner", "size"]) == "corner"
    assert nearest("Frame", ["frame"]) == "frame"
    assert nearest("bal", ["bar", "ball"]) == "ball"
    assert nearest("a", ["b"]) is None
    assert nearest("at", ["it", "size"]) == "it"
    assert nearest("xy", ["frame"]) is None
