"""Castings, bought parts and several metals: what is made of each, and what holds together."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path

import numpy as np
import pytest
import trimesh
from texts import checked, made

from posy.compiler.files.formats import Wanted
from posy.compiler.files.outputs import files_of
from posy.compiler.judging.one_file import one_file
from posy.compiler.making.pipeline import build
from posy.compiler.making.weights import weigh
from posy.compiler.measures.alike import groups
from posy.compiler.measures.linking import APART, LINKED, PASSED, THREADED, linked
from posy.compiler.measures.skin import Skin
from posy.lang.faults import Level

ROOT = Path(__file__).parents[2]


def codes(built, least=Level.WARNING):
    order = [Level.HINT, Level.WARNING, Level.FAULT]
    return {f.code for f in built.faults if order.index(f.level) >= order.index(least)}


def told(text):
    return [
        (f.code, f.span.line) for f in checked(text).faults
        if f.level is Level.FAULT
    ]  # fmt: skip


# -- metal on everything that is metal ---------------------------------------------------------

STONE = 'piece "Two"\n  metal gold-750-white\nstone s: round 4 mm, gem garnet, out 3 mm\n'
PLATE = STONE + "disc ground: across 12 mm, thick 2 mm\n"


@pytest.mark.parametrize(
    "line",
    [
        "bezel cup: for s, foot 2 mm", "prong claws: for s", "basket head: for s", "collet cup: for s",
        "halo ring: for s, gem diamond", "bead-line edge: along rim of ground, bead 0.5 mm, inset 0.4 mm",
        "rope-edge edge: along rim of ground", "granules grain: at face of ground, across 0.8 mm",
        "bail loop: at top of ground", "ear-post post: at back of ground", "ball knob: across 2 mm, out 2 mm",
        "workpiece wing: right 5 mm\n  bar leaf: size 4 x 2 x 1 mm",
        "tapered-bail hanger: at top of ground",
    ],
)  # fmt: skip
def test_metal_said_on_any_word_that_makes_metal_is_that_of_all_it_makes(line):
    head, _, below = line.partition("\n")
    text = f"{PLATE}{head}, metal gold-750-yellow\n{below}\n"
    built = made(text, check_metal=False)
    assert codes(built, Level.FAULT) == set()
    weights, _ = weigh(built)
    assert [metal for metal, _, _ in weights.metals] == ["gold-750-white", "gold-750-yellow"]
    alone = made(f"{PLATE}{line}\n", check_metal=False)
    whole, both = (sum(part.volume for part in one.parts) for one in (alone, built))
    assert both == pytest.approx(whole, rel=1e-3)  # nothing is lost for being of another metal


def test_a_part_that_says_its_own_metal_keeps_it():
    built = made(
        'piece "Two"\n  metal silver-925\n'
        "word pin\n  bar stem: size 4 x 1 x 1 mm\n  bar head: size 2 x 2 x 1 mm, metal brass\n"
        "pin one: metal gold-585-yellow\npin two: up 6 mm\n"
    )
    weights, _ = weigh(built)
    grams = {part.metal: part.volume for part in weights.parts}
    assert set(grams) == {"gold-585-yellow", "brass", "silver-925"}
    # Where the two meet the first keeps its place: 4 mm3 of stem, and of the head what is left, 2 mm3.
    assert grams["gold-585-yellow"] == pytest.approx(4.0)
    assert grams["silver-925"] == pytest.approx(4.0)
    assert grams["brass"] == pytest.approx(4.0)


def test_alloys_inside_a_group_stay_what_they_are():
    built = made(
        "workpiece g\n  bar b: size 10 x 5 x 2 mm, metal brass\n  bar k: size 2 x 2 x 1 mm, out 2 mm\n"
    )
    volumes = {part.metal: part.volume for part in built.parts}
    assert volumes == {"brass": pytest.approx(100.0), "silver-925": pytest.approx(4.0)}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("workpiece g: metal brass\n  stone s: round 2 mm, gem garnet\n", [("clause-idle", 1)]),
        ("workpiece g: metal brass\n  bar b: size 2 x 2 x 1 mm, metal silver-925\n", [("clause-idle", 1)]),
        ("workpiece g: metal brass\n  bar b: size 2 x 2 x 1 mm\n", []),
        ("stone s: round 2 mm, gem garnet\nbar b: size 4 x 4 x 2 mm, under s\n"
         "seat: for s, in b, metal brass\n", [("unknown-clause", 3)]),
        ("stone s: round 2 mm, gem garnet, metal brass\n", [("unknown-clause", 1)]),
        ("workpiece g: metal bras\n  bar b: size 2 x 2 x 1 mm\n", [("unknown-choice", 1)]),
        ("casting c: bought\n  bar b: size 2 x 2 x 1 mm\n", [("unknown-clause", 1)]),
    ],
)  # fmt: skip
def test_metal_where_nothing_hears_it_is_told(text, wanted):
    assert told(text) == wanted


# -- castings ----------------------------------------------------------------------------------

PAIR = (
    'piece "Pair"\n  metal silver-925\n'
    "casting left: left 8 mm\n  disc face: across 9 mm, thick 1.6 mm\n"
    "  ear-post post: at back of face, bought, metal gold-750-white\n"
    "mirror right: of left\n"
)


def test_a_pair_is_two_castings_with_files_of_their_own_and_bought_posts_apart():
    built = made(PAIR)
    assert codes(built) == set()
    files, faults = files_of(built, "pair", Wanted(("stl", "3mf", "json")))
    assert faults == []
    assert list(files) == ["pair-left.stl", "pair-right.stl", "pair.3mf", "pair.json"]
    disc = math.pi * 4.5**2 * 1.6
    for name in ("pair-left.stl", "pair-right.stl"):
        mesh = trimesh.load(io.BytesIO(files[name]), file_type="stl")
        assert mesh.is_watertight
        assert mesh.body_count == 1
        assert mesh.volume == pytest.approx(disc, rel=2e-3)  # without the post
    record = json.loads(files["pair.json"])
    weight = record["metal_weight"]
    assert [part["casting"] for part in weight["castings"]] == ["left", "right"]
    # 10.36 g/cm3, table of alloys
    assert weight["grams"] == pytest.approx(2 * disc * 10.36e-3, abs=2e-3)
    (post,) = weight["bought"]
    assert (post["name"], post["count"], post["metal"]) == ("left.post", 2, "gold-750-white")
    rows = {row["file"]: row for row in record["files"]}
    assert rows["pair-right.stl"]["casting"] == "right"
    assert "casting" not in rows["pair.3mf"]


def test_copies_of_a_casting_are_castings_of_their_own():
    text = "casting drop: row 3, every 5 mm\n  bar b: size 2 x 2 x 1 mm\nbar main: size 3 x 3 x 1 mm, up 9 mm\n"
    built = made(text)
    assert codes(built) == set()
    assert sorted(part.casting for part in built.parts) == ["", "drop 1", "drop 2", "drop 3"]
    names = list(files_of(built, "x", Wanted(("stl",)))[0])
    assert names == ["x-drop-3-times.stl", "x.stl"]


def test_castings_of_a_row_that_are_alike_are_one_file_with_its_count_wherever_they_stand():
    text = (
        "casting link: circle 6, radius 20 mm\n  bar b: size 3 x 2 x 1 mm\n"
        "  disc foot: across 1.5 mm, thick 1 mm, right 1.5 mm, up 1 mm\n"
    )
    built = made(text)
    files, _ = files_of(built, "x", Wanted(("stl", "ply", "json")))
    assert list(files) == ["x-link-6-times.stl", "x-link-6-times.ply", "x.json"]
    record = json.loads(files["x.json"])
    row = record["files"][0]
    assert (row["count"], row["castings"]) == (6, [f"link {k}" for k in range(1, 7)])
    mesh = trimesh.load(io.BytesIO(files["x-link-6-times.stl"]), file_type="stl")
    assert sum(part.volume for part in built.parts) == pytest.approx(6 * mesh.volume, rel=2e-3)
    (row,) = weigh(built)[0].rows
    assert len(row) == 6


def test_of_a_row_those_that_differ_and_mirror_images_have_files_of_their_own():
    text = (
        "casting left: left 9 mm\n  bar b: size 6 x 2 x 1 mm\n"
        "  disc foot: across 2.5 mm, thick 1.4 mm, right 2.5 mm, up 1 mm\n"
        "mirror right: of left\n"
    )
    built = made(text)
    kinds = [part.metal for part in built.parts]
    skins = [Skin(part.points, part.triangles, part.owner) for part in built.parts]
    assert groups(skins, kinds) == [[0, 1]]  # one form, but of the other hand
    assert one_file(built.piece, built.parts, kinds) == [[0], [1]]
    graded = "stone s: round 2 mm to 4 mm, gem garnet, row 3, gap 3 mm\ncasting link\n  bezel cup: for s\n"
    names = list(files_of(made(graded), "x", Wanted(("stl",)))[0])
    assert all("times" not in name for name in names)


def test_a_casting_cuts_only_itself_and_does_not_yield_to_another():
    text = (
        "casting one\n  bar b: size 4 x 4 x 2 mm\n"
        "casting two\n  bar b: size 4 x 4 x 2 mm, right 3.9 mm\n"
        "  drill hole: at face of b, across 1 mm, in b\n"
    )
    built = made(text)
    volumes = {part.casting: part.volume for part in built.parts}
    assert volumes["one"] == pytest.approx(32.0)
    assert volumes["two"] == pytest.approx(32.0 - math.pi / 4 * 2, rel=1e-3)
    assert codes(built) == {"castings-meet"}


def test_metal_that_lies_in_other_metal_is_told_of_no_cut():
    text = "bar b: size 8 x 8 x 4 mm\nball dot: at face of b, inward 2 mm, across 2 mm, metal gold-375-red\n"
    (fault,) = made(text).faults
    assert fault.code == "no-metal" and "write the line of dot above theirs" in fault.remedy
    assert "cut" not in f"{fault.message} {fault.remedy}"
    other = "".join(f"{line}\n" for line in reversed(text.replace("face of b, inward 2 mm", "(0, 0, 2 mm)").split("\n")) if line)
    assert not made(other).faults


def test_bought_alone_is_nothing_to_cast():
    built = made("bar b: size 4 x 4 x 2 mm, bought\n")
    assert [f.code for f in built.faults] == ["no-metal"]


def test_a_cut_through_all_leaves_what_is_bought():
    text = (
        "bar b: size 6 x 4 x 2 mm\nbar tag: size 2 x 2 x 1 mm, out 2 mm, bought\n"
        "drill hole: at (0, 0, 3 mm), across 1 mm{}\n"
    )
    bought = [p.volume for p in made(text.format("")).parts if p.bought]
    assert bought == [pytest.approx(4.0)]
    named = [p.volume for p in made(text.format(", in tag")).parts if p.bought]
    assert named == [pytest.approx(4.0 - math.pi / 4, rel=1e-3)]


def test_another_metal_for_the_piece_leaves_the_castings_theirs():
    text = "casting one\n  bar b: size 4 x 4 x 2 mm\n  bar c: size 1 x 1 x 1 mm, out 2 mm, metal brass\n"
    built = made(text, metal="gold-585-yellow", check_metal=False)
    assert [(p.metal, p.casting) for p in built.parts] == [("gold-585-yellow", "one"), ("brass", "one")]


# -- links -------------------------------------------------------------------------------------


def ring(middle, axis, radius, count=48):
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    flat = np.stack([radius * np.cos(turn), radius * np.sin(turn), 0 * turn], axis=1)
    order = {"z": [0, 1, 2], "y": [0, 2, 1], "x": [2, 0, 1]}[axis]
    return flat[:, order] + np.array(middle)


def skin(mesh):
    faces = np.array(mesh.faces, np.int64)
    return Skin(np.array(mesh.vertices), faces, np.zeros(len(faces), np.int64))


@pytest.mark.parametrize(
    ("line", "body", "wanted"),
    [
        (ring((5, 0, 0), "y", 3), trimesh.creation.torus(5, 1), LINKED),
        (ring((0, 5, 0), "x", 3), trimesh.creation.torus(5, 1), LINKED),
        (ring((4, 0, 0), "y", 3), trimesh.creation.annulus(2, 6, 1.5), LINKED),
        (ring((15, 0, 0), "y", 3), trimesh.creation.torus(5, 1), APART),
        (ring((0, 0, 4), "z", 5), trimesh.creation.torus(5, 1), APART),  # lying on it
        (ring((0, 0, 0), "y", 8), trimesh.creation.torus(5, 1), PASSED),  # round it as a whole
        (ring((0, 0, 0), "z", 3), trimesh.creation.cylinder(1, 20), THREADED),
        (ring((0, 0, 0), "z", 3), trimesh.creation.cylinder(1, 2), PASSED),
    ],
)
def test_a_ring_is_linked_where_it_cannot_be_taken_off(line, body, wanted):
    assert linked(line, skin(body)) == wanted


@pytest.mark.parametrize("seed", range(20))
def test_linking_agrees_with_the_integral_of_gauss(seed):
    """Two circles at random: their linking number by Gauss's double integral (1833)."""
    random = np.random.default_rng(seed)
    thin = trimesh.creation.torus(5, 0.05, major_sections=200)
    other = ring((0, 0, 0), "z", 4.0, 400) @ trimesh.transformations.random_rotation_matrix(
        random.random(3)
    )[:3, :3].T + random.uniform(-5, 5, 3)
    mine = ring((0, 0, 0), "z", 5.0, 400)
    if np.linalg.norm(mine[:, None] - other[None], axis=2).min() < 0.15:
        return
    d1, d2 = np.roll(mine, -1, 0) - mine, np.roll(other, -1, 0) - other
    gap = (mine + d1 / 2)[:, None] - (other + d2 / 2)[None]
    tops = (gap * np.cross(d1[:, None], d2[None])).sum(2)
    number = round(abs((tops / np.linalg.norm(gap, axis=2) ** 3).sum() / (4 * np.pi)))
    assert (linked(other, skin(thin)) == LINKED) == (number == 1)


CHAIN = (
    "casting drop\n  disc d: across 10 mm, thick 1.5 mm\n"
    "  bail eye: at top of d, inside 2.2 mm, wire 1 mm\n"
    "jump-ring link: up {} mm, inside 3.2 mm, wire 0.8 mm, lean 90 deg, out 0.75 mm, bought\n"
)


def test_a_bought_ring_through_an_eye_is_linked_and_does_not_block_it():
    built = made(CHAIN.format(8.5))
    assert codes(built) == set()


def test_a_bought_ring_in_thin_air_is_loose():
    built = made(CHAIN.format(26))
    assert [f.code for f in built.faults if f.level is Level.FAULT] == ["loose-piece"]


# -- crumbs ------------------------------------------------------------------------------------


def test_crumbs_are_left_out_and_told_unless_they_are_dust():
    """Three grains apart from a bar: two left out of the files, of which one is told."""
    text = "bar b: size 8 x 3 x 1 mm\nball k: across {} mm, up 6 mm\n"
    for across, bodies, warned in ((0.2, 2, False), (0.1, 1, True), (0.02, 1, False)):
        built = made(text.format(across), check_metal=False)
        (part,) = built.parts
        mesh = trimesh.Trimesh(part.points, part.triangles)
        assert mesh.body_count == bodies
        assert (codes(built) == {"crumb-left-out"}) is warned


def test_shut_hollows_of_no_size_are_closed():
    """A hole that grazes a pad left six shells turned inside out, a few millionths of a mm3 each."""
    text = "bar b: size 8 x 3 x 1 mm\near-post p: at back of b, pad 2.4 mm\ndrill d: across 0.8 mm, in p\n"
    (part,) = made(text, check_metal=False).parts
    assert trimesh.Trimesh(part.points, part.triangles).body_count == 1


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.posy")), ids=lambda p: p.stem)
def test_every_example_gives_files_of_one_body_each_without_flat_triangles(path):
    built = build(str(path), tolerance=0.02, check_metal=False)
    files, faults = files_of(built, path.stem, Wanted(("stl",)))
    assert faults == []
    linked_rings = path.stem == "reed-drops"
    for content in files.values():
        mesh = trimesh.load(io.BytesIO(content), file_type="stl")
        assert mesh.area_faces.min() > 0
        assert mesh.body_count == 1 or linked_rings


def test_a_locket_drawn_shut_hangs_as_one_by_the_loop_of_its_base():
    """By the mass properties of trimesh: its middle comes to lie below where the chain bears in the loop."""
    built = build(str(ROOT / "tests/rules/cases/tips-forward.locket.posy"))
    solids = [trimesh.Trimesh(part.points, part.triangles) for part in built.parts]
    masses = np.array([one.volume for one in solids])
    middle = masses @ np.array([one.center_mass for one in solids]) / masses.sum()
    (base,) = [part.points for part in built.parts if part.casting == "base"]
    crown = base[base[:, 1] > base[:, 1].max() - 0.1]
    bears = crown[:, 1].max() - 1.2  # the wire of the loop
    by_trimesh = math.degrees(math.atan2(middle[2] - crown[:, 2].mean(), bears - middle[1]))
    (told,) = [fault for fault in built.faults if fault.code == "tips-forward"]
    assert float(told.seen.split()[0]) == pytest.approx(by_trimesh, abs=0.2)
