"""What a setting does where the line says no more than for which stone: it pleases every rule, over
the usual sizes and cuts, and stands square (common practice, no source)."""

from __future__ import annotations

import re

import numpy as np
import pytest
from usual_texts import is_advice

from posy.compiler.making.pipeline import build
from posy.lang.faults import Level
from posy.lang.loader import Texts

ROUNDS = "1.2", "1.5", "2", "3", "4", "5", "6.5", "8", "10"
CUTS = (
    "oval 5 x 4", "oval 8 x 6", "pear 7 x 5", "marquise 8 x 4", "emerald 7 x 5",
    "cushion 6 x 6", "princess 5.5 x 5.5", "heart 6 x 6", "baguette 5 x 2.5", "tapered-baguette 4 x 2 x 1.4",
)  # fmt: skip


def wrong(text: str) -> list[str]:
    made = build("p.posy", files=Texts({"p.posy": text}))
    assert made.parts
    return [f"{f.code}: {f.seen}" for f in made.faults if f.level is not Level.HINT]


@pytest.mark.parametrize("line", [
    "plate g: rectangle 24 x 12 mm, thick 1.8 mm\nengrave e: letters \"POSY\", tall 4 mm, at face of g, in g",
    *(f"plate g: round {size + 4} mm, thick 2 mm\nstone s: round {size} mm, gem ruby, on g\nbead-set b: for s, in g"
      for size in (1.2, 1.5, 1.8, 2.2)),
    *(f"stone c: round {size} mm, gem ruby\nbasket b: for c, foot 3.6 mm\ncluster p: for c, gem ruby, across {small} mm"
      for size, small in ((5, 2), (5, 2.2), (6, 2), (6.5, 2.2))),
])  # fmt: skip
def test_usual_values_leave_nothing_to_say(line: str) -> None:
    """No rule finds fault with what a word takes where the line says nothing, not even by a hint."""
    found = build("p.posy", files=Texts({"p.posy": line})).faults
    assert [f"{one.code}: {one.seen}" for one in found if not is_advice(one)] == []


@pytest.mark.parametrize("size", [1.2, 1.5, 2])
def test_a_ledge_is_mended_as_the_remark_says(size: float) -> None:
    """On a domed band a stone stands proud of the fall at its sides; set lower as told, it rests, and its
    light hole is not told to be wider again."""
    def told(lower: str) -> dict[str, str]:
        text = f"""band g: finger us 7 1/2, wide {size + 1.5} mm, thick 2.2 mm, profile d
stone s: round {size} mm, gem ruby, on g, around 45 deg, row 3, every {size + 0.25} mm{lower}
bead-set b: for s, in g"""
        return {one.code: str(one.remedy) for one in build("p.posy", files=Texts({"p.posy": text})).faults}

    lower = re.fullmatch(r"move s ([\d.]+ mm) inward", told("")["shallow-seat"])
    assert lower is not None
    assert not {"shallow-seat", "narrow-light-hole"} & set(told(f", inward {lower[1]}"))


@pytest.mark.parametrize("count", ["", ", count 4", ", count 6"])
@pytest.mark.parametrize("stone", [*(f"round {size}" for size in ROUNDS[3:]), *CUTS])
def test_a_basket_of_any_count_suits_any_cut(stone: str, count: str) -> None:
    found = wrong(f"stone c: {stone} mm, gem garnet\nbasket b: for c{count}")
    # So many prongs as one likes may leave the point of a pear bare, and that is told.
    assert [one for one in found if not count or not one.startswith("bare-corner")] == []


@pytest.mark.parametrize("stone", [*(f"round {size}" for size in ROUNDS), *CUTS])
def test_a_bezel_has_a_lip_for_any_stone(stone: str) -> None:
    assert wrong(f"stone c: {stone} mm, gem ruby\nbezel b: for c") == []


@pytest.mark.parametrize("stone", ["round 1.2", "round 2.2", "round 3", "round 5", "oval 4 x 3"])
def test_a_shared_basket_stands_by_itself(stone: str) -> None:
    assert wrong(f"stone r: {stone} mm, gem garnet, row 5, gap 0.2 mm\nbasket b: for r, shared") == []


@pytest.mark.parametrize("metal", ["silver-925", "gold-750-yellow"])
@pytest.mark.parametrize("stone", ["marquise 8 x 4", "marquise 6 x 3", "pear 8 x 5", "pear 7 x 5", "princess 5 x 5"])
def test_vee_prongs_suit_their_stones(stone: str, metal: str) -> None:
    """On a rail that runs under the girdle."""
    rail = "path p: beside girdle of s, rise -1.4 mm\nwire r: along p, round 0.9 mm"
    assert wrong(f'piece "V"\n  metal {metal}\nstone s: {stone} mm, gem garnet\nvee-prong v: for s\n{rail}') == []


def test_wire_as_a_remark_on_vee_prongs_says_is_taken() -> None:
    text = """stone s: marquise 8 x 4 mm, gem garnet
path p: beside girdle of s, rise -1.4 mm
wire r: along p, round 0.9 mm
vee-prong v: for s, wire {} mm"""
    def told(wire: str) -> dict[str, str]:
        return {one.code: str(one.remedy) for one in build("p.posy", files=Texts({"p.posy": text.format(wire)})).faults}

    advice = re.fullmatch(r"take wire of ([\d.]+) mm", told("0.6")["thin-prong"])
    assert advice is not None
    assert not {"thin-prong", "unknown-clause"} & set(told(advice[1]))


@pytest.mark.parametrize("size", [1.2, 1.4, 1.7, 2.0, 2.5])
def test_shared_prongs_hold_small_stones_round_a_band(size: float) -> None:
    band = f'band b: finger "us 6", wide {size + 1.2} mm, thick {max(1.9, size * 0.75 + 0.7)} mm'
    row = f"stone r: round {size} mm, gem garnet, along around of b, gap 0.2 mm"
    assert wrong(f"{band}\n{row}\nseat: for r, in b\nprong p: for r, shared") == []


@pytest.mark.parametrize("stone", ["round 5", "round 6.5", "round 8", *CUTS[1:-1]])
def test_a_halo_hugs_its_stone_and_lets_its_claws_through(stone: str) -> None:
    head = f"stone c: {stone} mm, gem sapphire\nbasket b: for c, foot 3.6 mm"
    text = f"{head}\nhalo h: for c, gem diamond"
    assert wrong(text) == []


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8])
@pytest.mark.parametrize("stone", ["round 6", "oval 8 x 6"])
def test_counted_heads_stand_square(stone: str, count: int) -> None:
    head = f"stone c: {stone} mm, gem garnet, out 4 mm\nprong p: for c, count {count}"
    text = f"{head}\ndisc d: across 9 mm, thick 2.6 mm"
    (part,) = build("p.posy", files=Texts({"p.posy": text}), check_metal=False).parts
    tips = part.points[part.points[:, 2] > 4.5]
    # The same left and right; with an even count above and below too.
    for flip in [(-1, 1)] + [(1, -1)] * (count % 2 == 0):
        mirrored = tips[:, :2] * flip
        apart = np.linalg.norm(tips[:, None, :2] - mirrored[None], axis=2).min(axis=1)
        assert apart.max() < 0.12


GROUNDS = {
    "plate": "plate g: round {wide} mm, thick {thick} mm",
    "shank": "band g: finger us 7, wide {wide} mm, thick {thick} mm",
}
LIGHT = "\ndrill light: at centres of s, in g, across {light} mm"
ON_METAL = {  # how far out the stone stands, in its widths and mm, and the setting
    "basket": (0.43, 1.2, "basket held: for s, on g"),
    "bezel": (0.43, 0.6, "bezel held: for s, on g"),
    "collet": (0.43, 1.2, "collet held: for s, on g"),
    "halo": (0.43, 3.0, "basket head: for s, on g\nhalo held: for s, gem diamond"),
    "cluster": (0.43, 3.0, "basket head: for s, on g\ncluster held: for s, gem diamond"),
    "flush": (0.0, 0.0, "flush held: for s, in g"),
    "bead-set": (0.0, 0.0, "bead-set held: for s, in g"),
    "prong": (0.43, 0.4, "prong held: for s, count 4, foot {foot} mm"),
}
LYING = "flush", "bead-set", "prong"  # a wide stone lies over the fall of a ring's face


@pytest.mark.parametrize("size", [2, 3, 4, 6, 8])
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("setting", ON_METAL)
def test_a_setting_pleases_every_rule_on_metal(setting: str, ground: str, size: int) -> None:
    if ground == "shank" and setting in LYING and size > 4:
        pytest.skip("no stone of that width is set so in a ring")
    share, more, line = ON_METAL[setting]
    if ground != "shank" and setting in ("bezel", "collet"):
        line += LIGHT  # a shank is drilled by the word itself
    level = ", level table" if setting == "flush" else f", out {share * size + more:.2f} mm"
    stone = f"stone s: round {size} mm, gem diamond, on g{level}"
    figures = {"wide": size + 5, "thick": f"{size * 0.6 + 1.2:.2f}", "light": f"{size * 0.4:.2f}",
               "foot": f"{size * 0.43 + 0.8:.2f}"}  # fmt: skip
    assert wrong(f"{GROUNDS[ground]}\n{stone}\n{line}".format(**figures)) == []
