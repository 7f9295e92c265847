"""Every setting that follows the girdle holds every cut at its defaults, on finished metal."""

from __future__ import annotations

import pytest
from texts import made

from posy.lang.faults import Level
from posy.stdlib import cuts as stone_cuts
from posy.stdlib.cuts import Cut

WIDE = 5.0  # mm


def size(cut: Cut) -> str:
    """A stone of the cut's usual proportions, as a text says it."""
    measures = WIDE, cut.ratio * WIDE, cut.narrow_ratio * WIDE
    members = {1: measures[:1], 2: (measures[1], WIDE), 3: (measures[1], WIDE, measures[2])}
    return " x ".join(f"{member:.4g}" for member in members[cut.sizes]) + " mm"


# A pearl is held by a peg: tried by itself below.
CUTS = {name: size(cut) for name, cut in stone_cuts.CUTS.items() if name != "pearl"}
SETTINGS = {
    "basket": "basket head: for one",
    "double claws": "basket head: for one, double",
    "bezel": "bezel cup: for one",
    "half bezel": "bezel cup: for one, cut-away 30 %",
    "beads": "plate p: round 20 mm, thick 4 mm, under one\nbead-set grains: for one, in p",
    "halo": "basket head: for one, foot 3.4 mm\nhalo ring: for one, gem diamond",
}
POINTED = "pear", "marquise", "princess", "trillion", "heart"
HEAD = 'piece "Cut"\n  metal gold-750-yellow\n'


def _wrong(text: str) -> dict[str, str]:
    built = made(f"{HEAD}{text}\n")
    assert built.parts
    return {f.code: f.message for f in built.faults if f.level is not Level.HINT}


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("cut", CUTS)
def test_a_setting_holds_every_cut(cut: str, setting: str) -> None:
    if stone_cuts.CUTS[cut].domed and setting == "beads":
        pytest.skip("grains are pushed over a crown")
    if setting == "double claws" and cut in ("princess", "baguette", "tapered-baguette", "rectangle", "trillion"):
        pytest.skip("all their corners are sharp: refused, see below")
    stone = f"stone one: {cut} {CUTS[cut]}, gem sapphire"
    found = _wrong(f"{stone}\n{SETTINGS[setting]}")
    assert not found


def test_a_pair_of_claws_is_not_set_beside_sharp_corners_alone() -> None:
    text = f"{HEAD}stone one: princess 5 mm, gem sapphire\nbasket head: for one, double\n"
    (fault,) = [f for f in made(text).faults if f.level is Level.FAULT]
    assert "sharp" in fault.message and fault.remedy == "leave out double"


@pytest.mark.parametrize("cut", [cut for cut in CUTS if not stone_cuts.CUTS[cut].domed])
def test_a_channel_holds_a_row_of_every_faceted_cut(cut: str) -> None:
    stones = f"stone row: {cut} {CUTS[cut]}, gem sapphire, row 4, gap 0.2 mm"
    assert not _wrong(f"{stones}\nchannel track: for row")
    assert not _wrong(f"{stones.replace('0.2', '0.6')}\nchannel track: for row, bars")


@pytest.mark.parametrize("cut", POINTED)
def test_vees_hold_every_cut_with_points(cut: str) -> None:
    stone = f"stone one: {cut} {CUTS[cut]}, gem sapphire"
    ground = (
        "plate ground: oval 14 x 12 mm, thick 1.4 mm, inward 4.4 mm\n"
        "pierce window: rectangle 3 x 2 mm, at face of ground, in ground"
    )
    assert not _wrong(f"{stone}\n{ground}\nvee-prong claws: for one, foot 3.6 mm")


def test_a_pearl_on_its_peg_is_not_judged_as_held_by_prongs() -> None:
    peg = "disc cup: across 4 mm, thick 1 mm, inward 4.5 mm\nrod peg: wire 0.9 mm, long 4.4 mm, inward 4.2 mm"
    assert not _wrong(f"stone one: pearl 7 mm, gem pearl\n{peg}")
