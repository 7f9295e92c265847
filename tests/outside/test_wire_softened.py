"""Flat and square wire whose edges are rounded, against closed forms: a rectangle less (4 - pi) r^2, carried along.

Formulas: circular segment, theorem of Pappus and Guldinus (Bronshtein and Semendyayev, Handbook of Mathematics,
from memory)."""

import math

import numpy as np
import pytest
from texts import built, codes, laid, made, volume

LINE = "path way: through (0, 0) to (20 mm, 0)\n"


@pytest.mark.parametrize(("section", "wide", "high"), [("flat 7 x 3 mm", 7, 3), ("square 2 mm", 2, 2)])
@pytest.mark.parametrize("by", [0.2, 0.5, 0.9])
def test_softened_wire_has_its_exact_section(section: str, wide: float, high: float, by: float) -> None:
    area = wide * high - (4 - math.pi) * by * by
    assert volume(f"{LINE}wire w: along way, {section}, soften {by} mm") == pytest.approx(20 * area, rel=5e-4)


def test_a_softened_bangle_is_its_section_carried_round() -> None:
    text = "path way: inside 60 mm, outset 1.5 mm\nwire w: along way, flat 7 x 3 mm, soften 0.6 mm"
    area = 7 * 3 - (4 - math.pi) * 0.36
    assert volume(text) == pytest.approx(math.pi * 63 * area, rel=2e-4)
    (part,) = built(text).parts
    inner = np.hypot(part.points[:, 0], part.points[:, 2]).min()
    assert inner == pytest.approx(30, abs=2e-3)


def test_softened_wire_keeps_step_as_it_tapers() -> None:
    """All lengths of the section keep step, so its area is as the square of its width: mean (1 + 1/2 + 1/4) / 3."""
    area = 4 * 2 - (4 - math.pi) * 0.25
    seen = volume(f"{LINE}wire w: along way, flat 4 x 2 mm, taper 2 mm, soften 0.5 mm")
    assert seen == pytest.approx(20 * area * 1.75 / 3, rel=5e-4)


def test_its_edges_are_those_of_what_soften_leaves() -> None:
    wire = laid(f"{LINE}wire w: along way, flat 4 x 2 mm, soften 0.5 mm", "w")
    one, two = wire.look("edges").lines
    assert sorted((one.points[0, 1], two.points[0, 1])) == pytest.approx([-1.5, 1.5])


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("flat 4 x 2 mm, soften 1 mm", "rim-too-deep"),
        ("flat 4 x 2 mm, soften 0.98 mm", ""),
        ("half-round 4 x 2 mm, soften 0.3 mm", "clauses-disagree"),
        ("round 2 mm, soften 0.3 mm", "clauses-disagree"),
    ],
)
def test_what_has_no_edges_or_too_little_metal_takes_no_soften(said: str, code: str) -> None:
    assert codes(made(f"{LINE}wire w: along way, {said}")) == ([code] if code else [])
