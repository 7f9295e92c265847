"""A piece as it looks with its stones set: in every setting metal lies over each stone's girdle that did
not as cast, and nothing of it floats."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64
from texts import built

from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid

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
        made = built(SETTINGS[name], check_metal=False, finished=finished)
        (part,) = made.parts
        metal = Manifold(Mesh64(np.array(part.points, float), np.array(part.triangles, np.uint64)))
        assert len(metal.decompose()) == 1
        shares = []
        for stone in made.stones:
            kind = StoneKind(stone.cut, stone.size, stone.gem)
            above = stone_solid(kind).trim_by_plane((0, 0, 1), kind.girdle() / 2 if kind.pavilion() else 0)
            shares.append((metal ^ above.transform(stone.frame)).volume())
        over.append(min(shares))
    assert over[1] > over[0] + 0.004
