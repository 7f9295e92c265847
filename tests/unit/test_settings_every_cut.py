"""Every setting that follows the girdle holds every cut at its defaults, on finished metal."""

from __future__ import annotations

import pytest

from posy.compiler.making.pipeline import build
from posy.lang.faults import Level
from posy.lang.loader import Texts

CUTS = {
    "round": "5 mm", "oval": "6 x 4.5 mm", "pear": "7 x 5 mm", "marquise": "8 x 4 mm",
    "cushion": "5 x 5 mm", "princess": "5 x 5 mm", "emerald": "7 x 5 mm",
    "square-step": "5 x 5 mm", "baguette": "6 x 3 mm", "tapered-baguette": "6 x 3.4 x 2.6 mm",
    "trillion": "5 x 5 mm", "heart": "5.5 x 5.5 mm", "cabochon": "7 x 5 mm",
}  # fmt: skip
SETTINGS = {
    "basket": "basket head: for one",
    "bezel": "bezel cup: for one",
    "half bezel": "bezel cup: for one, open 30 %",
    "halo": "basket head: for one, foot 3.4 mm\nhalo ring: for one, gem diamond",
}
POINTED = ("pear", "marquise", "princess", "trillion", "heart")
HEAD = 'piece "Cut"\n  metal gold-750-yellow\n'


def _wrong(text: str) -> dict[str, str]:
    built = build("cut.posy", files=Texts({"cut.posy": f"{HEAD}{text}\n"}))
    assert built.parts
    return {f.code: f.message for f in built.faults if f.level is not Level.NOTE}


# What is left at the defaults, as warnings: narrow step cuts leave the rails of a basket close
# together, and on the slanting corners of a tapered one a prong laps little.
ACCEPTED = {
    ("basket", "baguette"): {"closing-gap"},
    ("basket", "tapered-baguette"): {"uncovered-girdle"},
    ("halo", "tapered-baguette"): {"uncovered-girdle"},
}


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("cut", CUTS)
def test_a_setting_holds_every_cut(cut: str, setting: str) -> None:
    stone = f"stone one: {cut} {CUTS[cut]}, gem sapphire"
    found = _wrong(f"{stone}\n{SETTINGS[setting]}")
    assert found.keys() == ACCEPTED.get((setting, cut), set()), found


@pytest.mark.parametrize("cut", [cut for cut in CUTS if cut != "cabochon"])
def test_a_channel_holds_a_row_of_every_faceted_cut(cut: str) -> None:
    stones = f"stone row: {cut} {CUTS[cut]}, gem sapphire, line 4, gap 0.2 mm"
    assert not _wrong(f"{stones}\nchannel track: for row")


@pytest.mark.parametrize("cut", POINTED)
def test_vees_hold_every_cut_with_points(cut: str) -> None:
    stone = f"stone one: {cut} {CUTS[cut]}, gem sapphire"
    ground = (
        "plate ground: oval 14 x 12 mm, thick 1.4 mm, inward 4.4 mm\n"
        "pierce window: rectangle 3 x 2 mm, at face of ground, in ground"
    )
    assert not _wrong(f"{stone}\n{ground}\nvee-prong claws: for one, foot 3.6 mm")


def test_a_pearl_on_its_peg_is_not_judged_as_held_by_prongs() -> None:
    peg = "disc cup: across 4 mm, height 1 mm, inward 4.2 mm\nrod peg: across 0.9 mm, long 4 mm, inward 3.8 mm"
    assert not _wrong(f"stone one: pearl 7 mm, gem pearl\n{peg}")
