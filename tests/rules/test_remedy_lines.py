"""Whole lines of work that remedies print, written as printed below all others of a piece whose stone stands
in a block: they are found to be right, and cure."""

import re

import pytest
from texts import made

from posy.lang.faults import Level

PLAQUE = """piece "Plaque ring"
  metal platinum-950
band shank: finger "uk O", wide {wide} mm, thick 1.9 mm
workpiece plaque: at top of shank, inward 0.3 mm
  plate panel: rectangle 9 x 12 mm, thick {thick} mm
  stone middle: round 4 mm, gem diamond, at face of panel, inward 0.1 mm
  bead-set grains: for middle, in panel
"""
WHOLE = re.compile("write ([a-z][a-z -]*: .*?), below (?:both|all these) lines")


def _faults(text):
    found = made(text).faults
    return {one.code: one for one in found if one.level is not Level.HINT}


@pytest.mark.parametrize(
    ("wide", "thick", "code", "said"),
    [
        (2, 1.9, "stone-in-metal", "seat: for middle of plaque, in shank, hole 0 %"),
        (6, 1.9, "stone-in-metal", "seat: for middle of plaque, in shank"),
        (6, 2.7, "blind-seat", "drill light: at centres of middle of plaque, in shank, across 1.20 mm"),
        (2.4, 2.7, "blind-seat", "drill light: at centres of middle of plaque, in shank, across 0.80 mm"),
    ],
)
def test_a_printed_line_cures(wide, thick, code, said):
    text = PLAQUE.format(wide=wide, thick=thick)
    before = _faults(text)
    line = WHOLE.search(before[code].remedy)
    assert line is not None and line[1] == said
    after = _faults(f"{text}{line[1]}\n")
    assert not {"stone-in-metal", "blind-seat", "cut-shank", "far-wall"} & set(after)
    assert not [one for one in after.values() if one.level is Level.FAULT]


def test_a_band_too_narrow_for_a_light_hole_is_not_drilled():
    remedy = _faults(PLAQUE.format(wide=2, thick=2.7))["blind-seat"].remedy
    assert "drill" not in remedy and "make shank 2.10 mm wide" in remedy


TIPS = """piece "Tip stones"
  metal silver-925
path wrist: inside 60 x 50 mm, open 26 mm
wire bangle: along wrist, round 4 mm
stone a: round 3 mm, gem garnet, at ends of bangle, level table
flush f: for a, in bangle
"""


def test_what_stands_already_is_not_asked_for():
    assert "level table" not in _faults(TIPS)["loose-stone"].remedy


CREST = """piece "Knife edge"
  metal gold-585-yellow
band shank: finger us 8, wide 4 mm, thick 2.4 mm, profile knife-edge
stone a: round 1.8 mm, gem diamond, on shank, row 5, gap 0.5 mm, level table
flush h: for a, in shank
"""


def test_a_grain_that_a_settings_cut_leaves_is_not_told():
    assert "crumb-left-out" not in _faults(CREST)
