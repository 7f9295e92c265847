"""One slip, one ticket: what several rules find of the same parts is told by the rule that cures it, as gravely
as the gravest; beside it what has a cause of its own."""

from __future__ import annotations

import pytest
from texts import made

from posy.lang.faults import Level

SHANK = 'piece "Ring"\n  metal silver-925\nband shank: finger "us 6", wide 2.2 mm, thick {} mm{}\n'
GLASS = 'piece "Glass"\n  metal silver-925\nstone glass: pear 24 x 17 mm, upright, flat, deep 6 mm, gem glass\nbezel cup: for glass, lip {} mm, foot 1 mm\n'
ROW = 'piece "Row"\n  metal silver-925\nbar frame: size 14 x 5 x 2.4 mm\nstone row: round 2 mm, gem ruby, row 4, every {} mm, on frame\nbead-set held: for row, in frame\n'
CASES = {
    "a shank too thin": (SHANK.format(1.1, ""), {"thin-shank": "warning"}),
    "its taper too": (SHANK.format(1.4, ", taper 1.8 x 1.4 mm"), {"thin-shank": "warning"}),
    "a wall that no stone is held by": (GLASS.format(2.5), {"low-bezel": "fault", "wet-stone": "hint"}),
    "stones in one another": (ROW.format(1.8), {"stone-overlap": "fault"}),
    "stones too near, not in one another": (ROW.format(2.1), {"crowded-stones": "warning"}),
}  # fmt: skip


@pytest.mark.parametrize("what", CASES)
def test_one_cause_is_told_once(what: str) -> None:
    text, wanted = CASES[what]
    found = made(text).faults
    assert len({one.code for one in found}) == len(found)
    assert {one.code: one.level.value for one in found if one.code in wanted or one.level is not Level.HINT} == wanted
