"""A piece as it looks with its stones set: in every setting metal lies over each stone's girdle that did
not as cast, and nothing of it floats."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built, made, solid_of

from posy.compiler.bench.plan import simple_steps
from posy.compiler.bench.roles import Role
from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.geometry import frames as fr
from posy.compiler.geometry.line import thawed
from posy.compiler.judging.edges import inside_by
from posy.compiler.judging.stone_table import outline_of
from posy.compiler.making.setting import set_steps

DOME = "dome shell: across 11 mm, height 2 mm\n"
DISC = "disc shell: across 9 mm, thick 2.4 mm\n"
BAR = "bar shell: size 16 x 5 x 3 mm\n"
AT = "gem diamond, at face of shell, level table\n"
SETTINGS = {
    "beads in a dome": DOME + f"stone s: round 2.5 mm, {AT}bead-set g: for s, in shell",
    "beads in a face": DISC + f"stone s: round 2 mm, {AT}bead-set g: for s, in shell",
    "flush": DISC + f"stone s: round 2.5 mm, {AT}flush g: for s, in shell",
    "bezel": "stone s: oval 7 x 5 mm, gem garnet\nbezel g: for s",
    "half bezel": "stone s: oval 7 x 5 mm, gem garnet\nbezel g: for s, cut-away 40 %",
    "bezel of a cabochon": "stone s: cabochon 8 x 6 mm, gem garnet\nbezel g: for s, blind",
    "vees": "stone s: princess 5 x 5 mm, gem garnet\nvee-prong g: for s\nbar tie: size 6 x 6 x 1.2 mm, inward 3.9 mm",
    "collet": "stone s: round 5 mm, gem garnet\ncollet g: for s",
    "channel": "stone s: round 2.5 mm, gem garnet, row 4, gap 0.1 mm\nchannel g: for s",
    "bars": "stone s: baguette 2 x 3 mm, gem garnet, row 4, gap 0.6 mm\nchannel g: for s, bars",
    "channel in a bar": BAR + "stone s: round 2.5 mm, gem garnet, row 4, gap 0.1 mm, on shell, level table, inward 0.2 mm\nchannel g: for s, in shell",
}


@pytest.mark.parametrize("name", SETTINGS)
def test_metal_lies_over_the_stones_that_are_set(name: str) -> None:
    over = []
    for finished in (False, True):
        piece = built(SETTINGS[name], check_metal=False, finished=finished)
        (part,) = piece.parts
        metal = solid_of(part)
        assert len(metal.decompose()) == 1
        shares = []
        for stone in piece.stones:
            kind = StoneKind(stone.cut, stone.size, stone.gem)
            above = stone_solid(kind).trim_by_plane((0, 0, 1), kind.girdle() / 2 if kind.pavilion() else 0)
            shares.append((metal ^ above.transform(stone.frame)).volume())
        over.append(min(shares))
    assert over[1] > over[0] + 0.004


def test_every_claw_goes_over_the_stone_it_was_made_for_beside_those_of_another_head() -> None:
    text = """band shank: finger "us 6 1/2", wide 2.2 mm, thick 1.8 mm, profile court
stone main: round 6 mm, gem diamond, at top of shank, out 4 mm
basket head: for main, on shank, count 6
stone sides: tapered-baguette 4 x 2.5 x 1.5 mm, gem diamond, next-to main, gap 0.8 mm, inward 0.6 mm
basket ends: for sides, on shank
"""
    piece = made(text, check_metal=False).piece
    assert piece is not None
    prongs = [step for step in simple_steps(set_steps(piece)) if piece.is_for(step.feature, Role.PRONG)]
    assert sum(len(step.frames) for step in prongs if step.shape.kind == "wire") == 6 + 2 * 4


@pytest.mark.parametrize("cut", ["pear 6 x 4 mm", "heart 6 x 6 mm", "emerald 7 x 5 mm", "round 5 mm"])
def test_every_claw_ends_over_its_stone(cut: str) -> None:
    text = f"bar b: size 12 x 8 x 2 mm\nstone s: {cut}, gem ruby, at face of b, out 4 mm\nbasket h: for s, on b\n"
    piece = made(text, check_metal=False).piece
    assert piece is not None
    (stones,) = piece.bench.stones()
    back = fr.inverse(stones.frames[0])
    for step in simple_steps(set_steps(piece)):
        if step.shape.kind == "wire" and piece.is_for(step.feature, Role.PRONG):
            end = thawed(step.shape.figures[0]).points[-1:]
            ends = [fr.apply(back, fr.apply(at, end)) for at in step.frames]
            assert inside_by(outline_of(stones.setting), np.concatenate(ends)[:, :2]).min() > 0.05
