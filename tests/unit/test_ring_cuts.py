"""Cuts in rings told without a place or a section: where they begin, and what ground metal let in has."""

from __future__ import annotations

import math

import pytest
from texts import built, codes, made, volume

SEAL = 'signet seal: finger us 9, oval 12 x 14 mm, height 3 mm, wide 6 mm, thick 2 mm\n'
BAND = "band shank: finger us 10, wide 6 mm, thick 2 mm\n"
STRIP = "engrave strip: stroke 2 mm, deep 0.5 mm, along around of shank, in shank"


@pytest.mark.parametrize(
    "cut", ['engrave one: letters "H", tall 6 mm, deep 0.4 mm', "pierce one: round 5 mm, deep 0.8 mm"]
)
def test_a_cut_in_a_signet_without_a_place_is_in_its_table(cut: str):
    without, said = (volume(f"{SEAL}{cut}, in seal{at}\n") for at in ("", ", at face of seal"))
    assert without == pytest.approx(said, abs=1e-6)
    assert without < volume(SEAL) - 1.0


def test_metal_let_in_all_round_has_a_flat_ground():
    """Its volume is that of a strip bent round the band, by Pappus: section times the way of its middle."""
    two = built(f"{BAND}{STRIP}, filled gold-750-rose\n")
    strip = min(two.parts, key=lambda part: part.volume)
    outside = max(float(part.points[:, 0].max()) for part in two.parts)
    assert strip.volume == pytest.approx(2.0 * 0.5 * 2 * math.pi * (outside - 0.25), rel=0.01)
    vee = volume(BAND) - volume(f"{BAND}{STRIP}\n")
    assert vee == pytest.approx(strip.volume / 2, rel=0.05)


@pytest.mark.parametrize(
    "along, said, limit, wanted",
    [
        ("way", "-10 % to 10 %", "this path is open", "stretch 40 % to 60 %"),
        ("way", "60 % to 20 %", "this path is open", "smaller share first"),
        ("around of shank", "-60 % to 60 %", "at most once round", "stretch -50 % to 50 %"),
    ],
)
def test_a_stretch_that_is_not_is_told_with_one_that_is(along: str, said: str, limit: str, wanted: str):
    text = f"{BAND}path way: through (0, 0) to (9, 0 mm)\nball one: across 1 mm, along {along}, fit 2 mm, stretch {said}\n"
    (fault,) = [one for one in made(text, check_metal=False).faults if one.code == "out-of-range"]
    assert limit in fault.limit and wanted in fault.remedy


def test_bands_are_told_how_they_are_linked():
    text = f"casting one\n  {BAND}casting two: hangs-in one\n  {BAND}"
    found = made(text, check_metal=False)
    assert codes(found) == ["no-loop"] and "sawn open" in found.faults[0].remedy
