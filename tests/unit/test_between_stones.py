"""Wire along a path finds its way between stones laid before it.

Measured by the kernel's own solids: a cylinder set at each place against the stones as facet meshes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from manifold3d import Manifold
from texts import built, codes, made

from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.making.result import Built

RING = """band shank: finger us 7, wide 2.6 mm, thick 1.9 mm, profile d
stone centre: {cut}, gem sapphire, on shank, out 5 mm
basket head: for centre, on shank
halo ring: for centre, gem diamond, across 1.4 mm{more}
gallery under: along rim of ring, on shank, pillars {count}
"""
ROW = """stone five: round 2.5 mm, gem diamond, row 5, gap 0.2 mm
bar tray: size 15 x 4.4 x 2 mm, corner 1.2 mm, under five
seat: for five, in tray
prong claws: for five, shared, wire 0.8 mm
gallery under: along rim of tray, deep 3 mm, inset {inset}, pillars {count}
"""
STONES = "stone row: round 2 mm, gem garnet, row 3, every 2.2 mm\npath way: beside path of row, rise -2 mm\n"


def shared_with_stones(piece: Built, name: str) -> float:
    """What rods of a line and stones have in common, mm3."""
    assert piece.piece is not None
    rod = next(f for f in piece.piece.bench.features if f.name == name)
    wire, long = (float(rod.look(key).value) for key in ("wire", "long"))
    rods = [Manifold.cylinder(long, wire / 2, circular_segments=64).transform(one) for one in rod.frames]
    stones = [stone_solid(setting).transform(at) for one in piece.piece.bench.stones()
              for setting, at in zip(itertools.repeat(one.setting), one.frames)]
    return sum(float((a ^ b).volume()) for a in rods for b in stones)


@pytest.mark.parametrize("count", [8, 12])
@pytest.mark.parametrize("cut", ["round 6.5 mm", "oval 8 x 6 mm", "pear 9 x 6 mm"])
@pytest.mark.parametrize("more", ["", ", scalloped"])
def test_pillars_under_a_halo_stand_between_its_stones(cut: str, more: str, count: int) -> None:
    piece = built(RING.format(cut=cut, more=more, count=count))
    assert shared_with_stones(piece, "under.pillar") == 0
    assert "stone-in-metal" not in codes(piece)


@pytest.mark.parametrize("inset", ["0.45 mm", "0.7 mm"])
def test_pillars_under_a_row_stand_between_its_stones(inset: str) -> None:
    piece = built(ROW.format(inset=inset, count=10))
    assert shared_with_stones(piece, "under.pillar") == 0


@pytest.mark.parametrize("carried", [
    "halo ring: for centre, gem diamond\ngallery under: along rim of ring, deep 3 mm, inset 0.6 mm",
    "halo ring: for centre, gem diamond, scalloped\ngallery under: along rim of ring, deep 3 mm, inset 0.6 mm",
    "plate top: oval 12 x 10 mm, thick 1.4 mm\ngallery under: along back-rim of top, deep 3 mm",
])  # fmt: skip
@pytest.mark.parametrize("narrow", ["0.5 mm", "1.2 mm"])
def test_pillars_end_on_a_rail_that_stands_farther_in(carried: str, narrow: str) -> None:
    stone = "stone centre: oval 8 x 6 mm, gem citrine, out 3 mm\n"
    piece = built(f"{stone}{carried}, narrow {narrow}", check_metal=False)
    assert piece.piece is not None
    rail, pillar = (next(f for f in piece.piece.bench.features if f.name == f"under.{name}") for name in ("rail", "pillar"))
    feet = pillar.frames @ (0.0, 0.0, float(pillar.look("long").value), 1.0)
    middles = rail.look("path").lines[0].fine(0.02).points
    assert np.linalg.norm(feet[:, None] - middles, axis=2).min(axis=1) == pytest.approx(0, abs=0.1)


def places(text: str) -> np.ndarray:
    piece = built(text, check_metal=False)
    assert piece.piece is not None
    return next(f for f in piece.piece.bench.features if f.name == "rods").frames[:, :, 3]


def test_what_is_clear_of_stones_stays_and_the_rest_goes_to_the_nearest_gap() -> None:
    line = "rod rods: along way, number 2, stretch 20 % to 80 %, wire 0.5 mm, long 2.5 mm"
    plain, moved = places(f"{STONES}{line}"), places(f"{STONES}{line}, between-stones")
    assert plain[:, 0] == pytest.approx([-1.92, 1.92])
    assert sorted(moved[:, 0]) == pytest.approx([-1.1, 1.1], abs=0.05)  # half of 2.2 mm: between two
    assert moved[:, 1:] == pytest.approx(plain[:, 1:])
    below = f"{STONES}{line}".replace("-2 mm", "-4 mm")
    assert (places(f"{below}, between-stones") == places(below)).all()


def test_more_wire_than_gaps_is_refused_and_the_count_told_does() -> None:
    line = "rod rods: along way, number {}, wire 0.9 mm, long 2.5 mm, between-stones"
    refused = made(STONES + line.format(9), check_metal=False)
    fault = next(fault for fault in refused.faults if fault.code == "no-places")
    assert fault.limit is not None
    few = built(STONES + line.format(int(fault.limit.split()[0])), check_metal=False)
    assert "no-places" not in codes(few)
