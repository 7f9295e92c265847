"""Settings on every cut: one sound body, and metal in a stone only where a setter cuts or pushes it."""

from __future__ import annotations

import itertools
from functools import partial

import numpy as np
import pytest
import trimesh
from manifold3d import JoinType, Manifold
from texts import built, laid, metal_of, solid_of
from word_bodies import check_words

from posy.compiler.bench.roles import SAID
from posy.compiler.bench.stone_kind import StoneKind
from posy.compiler.bench.stone_solid import stone_solid
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.compiler.words import core_words
from posy.compiler.words.standard import standard_words
from posy.lang.faults import Level
from posy.lang.loader import Texts
from posy.stdlib.cuts import CUTS

SIZES = {
    "round": "5 mm", "oval": "7 x 5 mm", "pear": "8 x 5 mm", "marquise": "10 x 5 mm",
    "cushion": "6 x 5 mm", "princess": "5 mm", "emerald": "7 x 5 mm", "square-step": "5 mm",
    "baguette": "6 x 3 mm", "tapered-baguette": "6 x 3 x 2 mm", "trillion": "6 x 6 mm",
    "heart": "6 x 6 mm", "hexagon": "7 x 6 mm", "cabochon": "8 x 6 mm", "pearl": "5 mm", "half-pearl": "5 mm",
    "cushion-cabochon": "8 x 6 mm", "pear-cabochon": "8 x 5 mm", "rectangle": "8 x 6 mm",
    "rose": "6 mm", "pear-rose": "8 x 5 mm",
}  # fmt: skip
SHARP = ["pear", "marquise", "princess", "baguette", "tapered-baguette", "trillion", "heart",
         "pear-cabochon", "pear-rose", "rectangle"]  # fmt: skip


made = partial(built, check_metal=False)


def sound(built: Built) -> Manifold:
    """The one body of the piece, seen by an outside library to be closed and in one piece."""
    (part,) = built.parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    assert mesh.is_watertight and mesh.body_count == 1
    return solid_of(part)


def bites(built: Built) -> np.ndarray:
    """Share of each stone that metal stands in."""
    metal = sound(built)
    found = []
    for stone in built.stones:
        solid = stone_solid(StoneKind(stone.form, stone.size, stone.gem)).transform(stone.frame)
        found.append((metal ^ solid).volume() / solid.volume())
    return np.array(found)


def test_every_cut_is_tried() -> None:
    assert set(SIZES) == set(CUTS)
    figures = {name: [float(n) for n in size[:-3].split(" x ")] for name, size in SIZES.items()}
    sharp = {
        name
        for name, size in figures.items()
        if any(CUTS[name].sharp(*(size * 2)[: max(2, len(size))]))
    }
    assert sharp == set(SHARP)


@pytest.mark.parametrize("cut", SIZES)
def test_a_stone_of_nominal_size_drops_into_its_seat(cut: str) -> None:
    """From its place and from any height above it no metal stands in the stone's way."""
    text = f"stone s: {cut} {SIZES[cut]}, gem garnet\ndisc m: across 16 mm, thick 4.2 mm, inward 3.4 mm\n"
    built = made(text + "seat: for s, in m")
    assert bites(built)[0] < 5e-5
    metal = sound(built)
    stone = built.stones[0]
    solid = stone_solid(StoneKind(stone.form, stone.size, stone.gem))
    for lift in (0.0, 0.2, 0.5, 1.0):
        assert (metal ^ solid.translate((0, 0, lift))).volume() < 1e-3


@pytest.mark.parametrize("cut", SIZES)
def test_the_seat_bears_the_stone(cut: str) -> None:
    """Sunk by 0.2 mm the stone meets metal on all sides: it does not fall through."""
    text = f"stone s: {cut} {SIZES[cut]}, gem garnet\ndisc m: across 16 mm, thick 4.2 mm, inward 3.4 mm\n"
    built = made(text + "seat: for s, in m, clearance 0.03 mm")
    stone = built.stones[0]
    solid = stone_solid(StoneKind(stone.form, stone.size, stone.gem))
    touched = (sound(built) ^ solid.translate((0, 0, -0.2))).bounding_box()
    whole = solid.bounding_box()
    for axis in (0, 1):
        assert touched[axis + 3] - touched[axis] > 0.6 * (whole[axis + 3] - whole[axis])


@pytest.mark.parametrize("cut", SIZES)
@pytest.mark.parametrize("more", ["", ", cut-away 50 %", ", cut-away 40 %, sides"])
def test_bezel(cut: str, more: str) -> None:
    built = made(f"stone s: {cut} {SIZES[cut]}, gem garnet\nbezel b: for s{more}")
    assert bites(built)[0] < 1e-4


@pytest.mark.parametrize(("more", "low"), [("", -1.1187), (", cut-deep 0.6 mm", -0.6)])
def test_the_sides_of_a_half_bezel_are_open_below_the_girdle(more: str, low: float) -> None:
    """Half the pavilion deep, as told by the stone itself, or as deep as said."""
    built = made(f"stone s: round 5 mm, gem garnet\nbezel b: for s, cut-away 50 %{more}")
    points = built.parts[0].points
    beside = points[(np.abs(points[:, 0]) < 1.2) & (np.abs(points[:, 1]) > 2.2)]
    assert beside[:, 2].max() == pytest.approx(low, abs=0.02)
    assert points[:, 2].max() > 0.2


@pytest.mark.parametrize("outline", ["round 8 mm", "oval 10 x 8 mm", "cushion 10 x 8 mm", "emerald 10 x 8 mm",
                                     "pear 10 x 7 mm", "heart 8 x 8 mm", "rectangle 10 x 8 mm, corner 1.5 mm"])  # fmt: skip
@pytest.mark.parametrize("edge", ["", ", bevel 0.4 mm"])
def test_a_flat_stone_lies_in_its_pocket_or_its_bezel(outline: str, edge: str) -> None:
    """The pocket is closed below, as wide as the stone and its cement, and the stone level with the face."""
    stone = f"stone s: {outline}, flat{edge}, deep 1.5 mm, gem onyx"
    disc = "disc m: across 16 mm, thick 3 mm"
    inlaid = made(f"{disc}\n{stone}, at face of m, level table\ninlay i: for s, in m")
    solid = stone_solid(StoneKind(inlaid.stones[0].form, inlaid.stones[0].size, "onyx"))
    assert bites(inlaid)[0] < 1e-9 and sound(inlaid).genus() == 0
    assert inlaid.stones[0].frame[2, 3] + 1.5 == pytest.approx(3.0)
    out = solid.project().offset(0.05, JoinType.Miter)
    cut = made(disc).parts[0].volume - inlaid.parts[0].volume
    assert cut == pytest.approx(out.area() * 1.55, rel=0.004)
    assert bites(made(f"{stone}\nbezel b: for s, blind"))[0] < 1e-4


@pytest.mark.parametrize("shank", ["band shank: finger uk P, wide 4 mm", "split-shank shank: finger uk P, wide 4 mm, gap 4 mm"])
def test_a_blind_bezel_on_a_shank_is_closed_below(shank: str) -> None:
    """Straight down from the stone's back, all over its middle, there is metal at once."""
    stone = "stone moon: cabochon 12 x 10 mm, gem moonstone, on shank, over-finger 4 mm"
    metal = metal_of(made(f"{shank}, thick 1.9 mm\n{stone}\nbezel cup: for moon, on shank, blind"))
    back = 17.9 / 2 + 4 - 0.1
    for right, up in ((0, 0), (3, 0), (0, 3), (-3, 3), (0, -3)):
        column = metal ^ Manifold.cube((0.1, 0.1, 0.6), True).translate((right, up, back - 0.3))
        assert column.volume() > 0.0035, (right, up)


def test_blind_bezel_has_a_floor() -> None:
    built = made("stone s: cabochon 10 x 8 mm, gem turquoise\nbezel b: for s, blind, foot 1.4 mm")
    assert bites(built)[0] < 1e-4
    assert sound(built).genus() == 0


@pytest.mark.parametrize("cut", SIZES)
def test_basket(cut: str) -> None:
    """Prongs bite a little (the setter cuts there); rails do not."""
    built = made(f"stone s: {cut} {SIZES[cut]}, gem garnet\nbasket b: for s, tip claw")
    bite = bites(built)[0]
    assert 0 < bite < 0.015


@pytest.mark.parametrize("cut", ["round 5 mm", "oval 8 x 6 mm", "pear 7 x 5 mm", "emerald 8 x 6 mm"])
def test_from_above_a_basket_shows_its_claws_alone(cut: str) -> None:
    """Its rails lie under the girdle, no frame round the stone (common practice, no source)."""
    head = made(f"stone s: {cut}, gem garnet\nbasket b: for s")
    (stone,) = head.stones
    outline = stone_solid(StoneKind(stone.form, stone.size, stone.gem)).project()
    beside = sound(head).project() - outline.offset(0.02, JoinType.Round)
    claws = len(CUTS[stone.cut].corners(*stone.size[:2])) if stone.cut != "round" else 4
    assert len([one for one in beside.decompose() if one.area() > 0.01]) == claws


@pytest.mark.parametrize("cut", SHARP)
def test_vee_prongs_take_each_point(cut: str) -> None:
    built = made(
        f"stone s: {cut} {SIZES[cut]}, gem garnet\n"
        "bar floor: size 12 x 12 x 1 mm, inward 5 mm\nvee-prong v: for s, foot 4.4 mm, rise 0.6 mm"
    )
    # A dome is nearly as wide above its girdle, where the wire at its round end still bites.
    assert bites(built)[0] < (0.01 if CUTS[cut].domed else 0.004)
    pieces = [s for s in sound(built).trim_by_plane((0, 0, 1), 0.3).decompose() if s.volume() > 1e-6]
    size = built.stones[0].size
    prongs = len(CUTS[cut].corners(size[0], size[min(1, len(size) - 1)], *size[2:]))
    assert len(pieces) == prongs


@pytest.mark.parametrize("count", [3, 4, 6, 8])
@pytest.mark.parametrize("tip", ["flat", "round", "claw"])
def test_as_many_prongs_as_said(count: int, tip: str) -> None:
    built = made(
        "stone s: round 6 mm, gem garnet\ndisc floor: across 8 mm, thick 1 mm, inward 4 mm\n"
        f"prong p: for s, count {count}, foot 3.4 mm, tip {tip}, splay 5 deg"
    )
    assert len(sound(built).trim_by_plane((0, 0, 1), 0.0).decompose()) == count
    assert 0 < bites(built)[0] < 0.02


@pytest.mark.parametrize("setting", ["prong p: for s, foot 3.4 mm, splay 5 deg", "basket p: for s, foot 3.4 mm"])
@pytest.mark.parametrize("stone", ["round 6 mm", "oval 8 x 6 mm", "emerald 8 x 6 mm", "cushion 7 x 7 mm"])
def test_double_claws_stand_in_pairs(stone: str, setting: str) -> None:
    """Four pairs, the two of a pair with room for a graver between them, each over the girdle."""
    built = made(f"stone s: {stone}, gem garnet\ndisc floor: across 9 mm, thick 1 mm, inward 4 mm\n{setting}, double")
    pieces = sound(built).trim_by_plane((0, 0, 1), 0.3).decompose()
    assert len(pieces) == 8
    apart = sorted(one.min_gap(other, 3.0) for one, other in itertools.combinations(pieces, 2))
    assert apart[3] <= apart[0] + 0.02 and 0.2 < apart[0] < 0.9 and apart[4] > 2 * apart[3]
    assert 0 < bites(built)[0] < 0.04


def test_shared_prongs_hold_a_graded_row() -> None:
    """A pair in each of 6 gaps, each laps the stones on both its sides alike."""
    built = made(
        "stone row: round 2.2 mm to 3 mm to 2.2 mm, gem garnet, row 5, gap 0.2 mm\n"
        "bar frame: size 19 x 5 x 2 mm, under row\nseat: for row, in frame\n"
        "prong p: for row, shared, wire 0.75 mm"
    )
    assert len(sound(built).trim_by_plane((0, 0, 1), 0.2).decompose()) == 12
    bite = bites(built)
    assert (bite > 0).all() and bite.max() < 0.05
    assert bite[0] == pytest.approx(bite[4], rel=1e-3) and bite[1] == pytest.approx(bite[3], rel=1e-3)


def test_a_shared_prong_is_no_claw_and_the_users_line_says_so() -> None:
    text = "stone row: round 2.2 mm, gem diamond, row 6, gap 0.2 mm\nbar frame: size 16 x 2.8 x 2.4 mm, under row\nseat: for row, in frame\n"
    (told,) = [one for one in build("p.posy", files=Texts({"p.posy": f"{text}prong claws: for row, shared, tip claw"})).faults if one.level is Level.FAULT]
    assert told.span is not None and (told.code, told.span.line) == ("expectation", 4)
    assert not [one for one in build("p.posy", files=Texts({"p.posy": f"{text}prong claws: for row, shared, tip round"})).faults if one.level is Level.FAULT]


def test_far_stones_cannot_share() -> None:
    text = "stone row: round 2 mm, gem garnet, row 3, every 4 mm\nbar f: size 16 x 4 x 2 mm, under row\n"
    built = build(
        "piece.posy", files=Texts({"piece.posy": text + "prong p: for row, shared"}), check_metal=False,
    )
    assert [f.code for f in built.faults] == ["expectation"]
    assert built.faults[0].remedy


@pytest.mark.parametrize("cut", ["round 2.4 mm", "square-step 2.5 mm", "baguette 2.6 x 2 mm"])
def test_channel(cut: str) -> None:
    built = made(f"stone row: {cut}, gem garnet, row 6, gap 0.15 mm\nchannel c: for row")
    assert bites(built).max() < 1e-4


@pytest.mark.parametrize(
    "cut",
    ["round 5 mm", "oval 7 x 5 mm", "pear 8 x 5 mm", "cushion 6 x 6 mm", "marquise 10 x 5 mm"],
)
def test_halo(cut: str) -> None:
    built = made(f"stone s: {cut}, gem garnet\nhalo h: for s, gem diamond\nbasket b: for s")
    bite = bites(built)
    assert len(bite) > 10 and bite.max() < 0.05 and bite.min() > 0
    middles = np.array([stone.frame[:, 3] for stone in built.stones[1:]])
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    np.fill_diagonal(apart, 9)
    assert apart.min() > 1.4


def test_bead_set_field_on_a_dome() -> None:
    built = made(
        "dome shell: across 14 mm, height 4 mm\n"
        "stone field: round 1.5 mm, gem ruby, upon shell, every 1.75 mm, inset 1.4 mm\n"
        "bead-set pave: for field, in shell, bead 0.5 mm"
    )
    bite = bites(built)
    assert len(bite) > 25 and bite.min() > 0.005 and bite.max() < 0.25


def test_flush_stones_lie_level() -> None:
    built = made(
        "disc medal: across 12 mm, thick 2.6 mm\n"
        "stone dots: round 2 mm, gem diamond, at face of medal, circle 5, radius 3.6 mm, level table\n"
        "flush sunk: for dots, in medal"
    )
    assert bites(built).max() < 1e-4
    for stone in built.stones:
        solid = stone_solid(StoneKind(stone.form, stone.size, stone.gem)).transform(stone.frame)
        assert solid.bounding_box()[5] == pytest.approx(2.6, abs=1e-6)


@pytest.mark.parametrize(
    "line",
    [
        "ear-post post: at back of medal",
        "pin-stem stem: at back of medal, long 30 mm",
        "hidden-bail loop: at back of medal, up 3 mm, inside 4 mm, chain 3.4 x 0.7 mm",
        "tapered-bail hanger: at pick(ends of medal, 1), inside 5 mm, chain 4 x 0.8 mm",
        "rope-edge border: along rim of medal, wire 0.5 mm, inset 0.6 mm",
        "granules buds: at face of medal, count 7, top",
        "bail loops: at ends of medal, wire 1.2 mm, inside 4 mm",
        "bead-line edge: along rim of medal, bead 0.5 mm, inset 0.4 mm",
    ],
)
def test_findings_and_decoration_are_rooted(line: str) -> None:
    sound(made("disc medal: across 12 mm, thick 1.6 mm\n" + line))


def test_standard_words_have_no_faults_of_their_own() -> None:
    words = standard_words()
    assert [fault for name in words for fault in words.read(name)[1]] == []
    assert check_words(words, core_words(), SAID) == []


@pytest.mark.parametrize("work", [
    "prong part: for one, foot 4 mm",  # its wires stand in a `when`
    "basket part: for one, foot 4 mm",  # its rails in an `each`
    "bezel part: for one, foot 4 mm",
])  # fmt: skip
def test_a_word_stands_for_all_it_made_in_each_and_when_too(work: str) -> None:
    ring = 'band shank: finger "us 6", wide 2.6 mm, thick 2 mm\n'
    stone = "stone one: round 5 mm, gem sapphire, at top of shank, out 3.4 mm\n"
    through = built(f"{ring}{stone}{work}\nbore clear: of shank, in part", check_metal=False)
    without = built(f"{ring}{stone}{work}", check_metal=False)
    assert sum(p.volume for p in through.parts) <= sum(p.volume for p in without.parts) + 1e-6


BYPASS = (
    "path way: finger us 6 1/2, outset 0.85 mm, arc -26 deg to 386 deg, advance 8 mm, late\n"
    "wire arms: along way, flat 2.4 x 1.7 mm\n"
    "stone one: round 4 mm, gem diamond, at pick(ends of arms, 1), left 1.8 mm, out 2.8 mm\n"
    "stone two: round 4 mm, gem diamond, at pick(ends of arms, 2), left 1.8 mm, out 2.8 mm\n"
)
GRADED = (
    "band shank: finger uk M, wide 3.4 mm, thick 2.2 mm\n"
    "stone side: round 2 mm to 1.4 mm, gem diamond, along around of shank, number 4, gap 0.2 mm, "
    "stretch 8 % to 22 %, level table, both-sides\n"
)
BANGLE = (
    "path front: inside 58 x 48 mm, outset 1.4 mm, arc -90 deg to 90 deg\n"
    "wire half: along front, flat 6 x 2.8 mm, soften 0.4 mm\n"
    "stone blue: round 3.5 mm, gem sapphire, along outer of half, stretch 40 % to 60 %, number 2, out 0.7 mm\n"
)


@pytest.mark.parametrize(
    "text",
    [
        f"{BYPASS}collet cups: for one + two, on arms\n", f"{BYPASS}bezel cups: for one + two, on arms\n",
        f"{GRADED}channel track: for side, in shank\n", f"{BANGLE}bezel cups: for blue, on half, wall 0.6 mm\n",
    ],
)  # fmt: skip
def test_heads_on_passing_arms_and_a_channel_of_graded_stones_please_every_rule(text):
    """Cups go down into wire all round, drill it for light, and sink a stone in wide wire; a channel's walls
    follow the stones."""
    found = build("piece.posy", files=Texts({"piece.posy": f'piece "P"\n  metal gold-750-yellow\n{text}'}))
    assert [fault.code for fault in found.faults if fault.level is not Level.HINT] == []


def test_milgrain_on_a_half_bezel_leaves_its_open_sides_out() -> None:
    """No bead stands over them, and one on each of the two points of a marquise."""
    text = "stone s: marquise 10 x 5 mm, gem garnet\nbezel b: for s, wall 0.6 mm, cut-away 40 %\n"
    grains = laid(text + "bead-line m: along rim of b, bead 0.3 mm, inset 0.2 mm", "m.grain").frames[:, :, 3]
    assert (np.abs(grains[:, 0]) > 1.9).all() and len(grains) > 30
    assert np.hypot(np.abs(grains[:, 0]) - 5.6, grains[:, 1]).min() < 0.3


def test_a_plate_drawn_as_its_stone_turns_with_it() -> None:
    text = "stone s: marquise 10 x 5 mm, domed, gem garnet, turn 90 deg\npath edge: beside outline of s, outset 1 mm\n"
    (part,) = built(text + "plate p: outline edge, thick 1 mm, under s\nbezel b: for s, blind, foot 1.2 mm").parts
    assert np.ptp(np.array(part.points)[:, 1]) > 11.0 > 8.0 > np.ptp(np.array(part.points)[:, 0])
