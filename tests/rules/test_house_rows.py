"""Alloys and gems of a house's own in bench.toml: they weigh, are judged, and say whose they are."""

from __future__ import annotations

import pytest

from posy.compiler.making.pipeline import build
from posy.compiler.making.weights import weigh
from posy.lang.loader import Texts

METAL = """[metal.mill-silver]
family = "silver"
density = "10.31 g/cm3"
melts = "790 to 885"
fineness = 930
composition = "Ag 930, Cu 70"
source = "data sheet of the mill"
"""
GEM = """[gem.sea-glass]
density = "2.5 g/cm3"
hardness = "5.5 to 6"
ultrasonic = "risky"
steam = "never"
heat = "never"
source = "weighed in water"
"""
PIECE = """piece "Pebble"
  metal mill-silver
stone pebble: round 6 mm, gem sea-glass
bezel cup: for pebble
"""


def made(bench, text=PIECE):
    return build("piece.posy", files=Texts({"piece.posy": text, "bench.toml": bench}))


def faults(built, code=None):
    return [f for f in built.faults if (code is None and f.level.value == "fault") or f.code == code]


def test_own_alloy_and_gem_are_weighed_and_judged():
    built = made(f'name = "Quay bench"\n{METAL}{GEM}')
    assert not faults(built)
    weights, trouble = weigh(built)
    assert not trouble
    (part,) = weights.parts
    assert part.grams == pytest.approx(part.volume * 10.31 / 1000)
    assert "your own" in part.title
    (stone,) = weights.stones
    # 6 mm round by the coloured factor, DN: D^2 x depth x density x 0.0018
    assert stone.carats == pytest.approx(36 * 0.6065 * 6 * 2.5 * 0.0018, rel=0.03)
    (wet,) = faults(built, "wet-stone")
    assert "sea-glass" in wet.message


def test_each_piece_is_weighed_by_its_own_house():
    heavy, light = made(METAL + GEM), made((METAL + GEM).replace("10.31 g/cm3", "10.11 g/cm3"))
    weights = [weigh(built)[0].parts[0] for built in (heavy, light)]
    assert [round(1000 * part.grams / part.volume, 2) for part in weights] == [10.31, 10.11]


def test_another_piece_without_the_house_does_not_know_them():
    assert not faults(made(METAL + GEM))
    left = build("piece.posy", files=Texts({"piece.posy": PIECE}))
    assert faults(left)


@pytest.mark.parametrize(
    ("bench", "line"),
    [
        (METAL.replace('"10.31 g/cm3"', '"10.31"'), 3),
        (METAL.replace("10.31", "12.9"), 3),
        (METAL.replace("Ag 930", "Xx 930"), 6),
        (METAL.replace('source = "data sheet of the mill"\n', ""), 1),
        (METAL.replace("mill-silver", "silver-925"), 1),
        (METAL.replace("family", "famly"), 2),
        (METAL.replace('"silver"', '"tin"'), 2),
        (GEM.replace('"5.5 to 6"', '"5.5 to 16"'), 3),
        (GEM.replace('"risky"', '"maybe"'), 4),
        (GEM.replace('steam = "never"\n', ""), 1),
    ],
)
def test_what_is_wrong_with_a_row_is_told_at_its_line(bench, line):
    fault = next(f for f in made(bench).faults if f.code.startswith("house-"))
    assert (fault.span.path, fault.span.line) == ("bench.toml", line)


def test_a_density_is_held_against_its_own_recipe():
    """Ag 930, Cu 70 mixes to 10.375 by the elements' table (CRC Handbook)."""
    (fault,) = faults(made(METAL.replace("10.31", "9.2") + GEM), "house-wrong-figure")
    assert "10.38" in fault.limit
