"""A graded row set about its middle stone: what holds the right half is the mirror image of what holds
the left, and the row drawn from its other end comes out the same."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold
from texts import built, laid, metal_of

from posy.compiler.making.pipeline import build
from posy.lang.faults import Level
from posy.lang.loader import Texts

ROW = """path line: through ({first} mm, 0 mm) to ({last}, 0 mm)
wire bar: along line, flat 3 x {thick} mm, inward {thick} mm / 2
stone row: {cut} {sizes}, gem diamond, along line, number {number}, gap {gap} mm
"""
UP = "1.3 mm to 2.1 mm to 1.3 mm"
SET = {
    "bead-set": "bead-set held: for row, in bar",
    "prong": "seat: for row, in bar\nprong held: for row",
    "shared": "seat: for row, in bar\nprong held: for row, shared",
    "u-cut": "seat: for row, in bar\nu-cut held: for row, in bar\nprong posts: for row, shared",
    "scallop": "seat: for row, in bar\nscallop held: for row, in bar\nprong posts: for row, shared",
    "basket": "basket held: for row",
}


def row(end: float = 9.0, cut: str = "round", sizes: str = UP, number: int = 7, gap: float = 0.25) -> str:
    return ROW.format(first=-end, last=end, cut=cut, sizes=sizes, number=number, gap=gap, thick=1.8)


def metal(text: str) -> Manifold:
    return metal_of(built(text, check_metal=False))


def apart(one: Manifold, other: Manifold) -> float:
    """Share of the metal that stands in only one of two."""
    return float(((one - other).volume() + (other - one).volume()) / one.volume())


@pytest.mark.parametrize("setting", SET)
def test_the_halves_of_a_graded_row_are_mirror_images(setting: str) -> None:
    made = metal(row() + SET[setting])
    assert apart(made, made.mirror((1, 0, 0))) < 2e-4
    assert apart(made, made.mirror((0, 1, 0))) < 2e-4


@pytest.mark.parametrize("word", ["scallop", "u-cut"])
@pytest.mark.parametrize("bar", ["path line: through (-9, 0) to (9, 0 mm)\nwire bar: along line, flat 3 x 1.8 mm",
                                 "bar bar: size 18 x 3 x 1.8 mm"])  # fmt: skip
def test_the_metal_cut_from_says_how_wide_it_is(word: str, bar: str) -> None:
    text = f"{bar}\nstone row: round 2 mm, gem diamond, on bar, row 7, gap 0.25 mm\n{word} held: for row, in bar"
    assert apart(metal(text), metal(f"{text}, wide 3 mm")) == 0
    assert metal(text).volume() < 0.98 * metal(text.rpartition("\n")[0]).volume()


@pytest.mark.parametrize("setting", SET)
def test_a_row_drawn_from_its_other_end_is_set_alike(setting: str) -> None:
    sizes = "1.4 mm to 2 mm"
    up = metal(row(sizes=sizes, number=5) + SET[setting])
    down = metal(row(-9.0, sizes=sizes, number=5) + SET[setting])
    assert apart(up, down.mirror((1, 0, 0))) < 2e-4


@pytest.mark.parametrize("cut", ["round", "princess"])
@pytest.mark.parametrize("gap", [0.05, 0.2, 0.6])
@pytest.mark.parametrize("sizes", [UP, "1.2 mm to 2.4 mm to 1.2 mm", "2 mm"])
def test_grains_stand_alike_about_the_middle(cut: str, gap: float, sizes: str) -> None:
    spots = laid(row(cut=cut, sizes=sizes, gap=gap) + "spots at-nooks: at nooks of row", "at-nooks")
    places = spots.frames[:, :, 3]
    for flip in ((-1, 1, 1), (1, -1, 1)):
        far = np.linalg.norm(places[:, None] - places[None] * flip, axis=2)
        assert far.min(axis=1).max() < 1e-6
    assert len(places) >= 14


@pytest.mark.parametrize("layout", ["grid 4 x 3, every 1.7 mm", "circle 6, radius 1.8 mm", "row 2, every 1.7 mm"])
def test_grains_of_a_field_stand_as_the_field_does(layout: str) -> None:
    spots = laid(f"stone field: round 1.5 mm, gem diamond, {layout}\nspots all: at nooks of field", "all")
    places = spots.frames[:, :, 3]
    far = np.linalg.norm(places[:, None] - places[None] * (1, -1, 1), axis=2)
    assert far.min(axis=1).max() < 1e-6


def test_both_shoulders_of_a_ring_are_set_in_one_line() -> None:
    band = "band shank: finger us 7, wide 3 mm, thick 2 mm, profile d\n"
    row = "stone sides: round 1.5 mm to 1.2 mm, gem diamond, on shank, around 45 deg, both-sides, row 3, gap 0.25 mm\n"
    made = metal(f"{band}{row}bead-set grains: for sides, in shank")
    assert apart(made, made.mirror((1, 0, 0))) < 2e-4
    feature = laid(band + row, "sides")
    assert [last - first for first, last, _ in feature.chains] == [3, 3]
    assert feature.kind(0).width == feature.kind(3).width > feature.kind(2).width == feature.kind(5).width


@pytest.mark.parametrize("cut", ["tapered-baguette 4 x 2.5 x 1.5 mm", "pear 4 x 2.5 mm"])
def test_what_points_along_the_ring_points_the_other_way_on_its_left(cut: str) -> None:
    stone = f"stone sides: {cut}, gem diamond, on shank, around 30 deg, both-sides, out 2 mm, swivel 20 deg\n"
    band = "band shank: finger us 7, wide 3 mm, thick 2 mm, profile d\n"
    right, left = laid(band + stone, "sides").frames
    assert np.allclose(np.diag((-1.0, 1.0, 1.0)) @ right, left, atol=1e-9)
    made = metal(f"{band}{stone}bezel cups: for sides, on shank\n")
    assert apart(made, made.mirror((1, 0, 0))) < 2e-4


def test_a_steeply_graded_row_stands_in_baskets_of_their_own_size() -> None:
    """What is told of too little room is cured as it says, by setting the stones further apart."""
    told = []
    for gap in (0.5, 0.8):
        text = f"stone row: round 3 mm to 1.5 mm, gem diamond, row 5, gap {gap} mm\nbasket heads: for row\n"
        made = build("piece.posy", files=Texts({"piece.posy": text}))
        assert made.parts
        told.append({one.code for one in made.faults if one.level is not Level.HINT} - {"loose-piece"})
    assert told == [{"no-tool-room"}, set()]
