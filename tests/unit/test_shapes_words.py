"""The words for rims, rings, wire, letters, drawings and bending: what they make, offer and refuse."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from texts import built, codes, laid, made, solid_of, volume

from posy.compiler.making.pipeline import build, check
from posy.compiler.making.result import Built
from posy.compiler.metal.kernel import plain
from posy.lang.loader import Texts

STRIP = "bar strip: size 50 x 4 x 1.4 mm\n"

PIECES = {
    "tapered band": 'band b: finger "us 7", wide 4 mm, thick 2 mm, taper 2.4 x 1.4 mm, profile court',
    "cuff": "band c: inside 58 mm, wide 6 mm, thick 2 mm, open 25 mm, bevel 0.4 mm",
    "oval signet": 'signet s: finger "us 9", oval 12 x 14 mm, height 2.6 mm, wide 5 mm, thick 2 mm',
    "cushion signet": (
        'signet s: finger "uk T", cushion 13 x 11 mm, height 2.6 mm, wide 5 mm, thick 2 mm, '
        "taper 3 x 1.5 mm, profile d"
    ),
    "square signet": (
        'signet s: finger "iso 60", rectangle 12 x 10 mm, corner 1 mm, height 2.4 mm, wide 5 mm, '
        "thick 1.8 mm, profile half-round"
    ),
    "round signet": 'signet s: finger "jp 14", round 9 mm, height 2.2 mm, wide 4 mm, thick 1.8 mm',
    "split band": 'split-shank b: finger "us 6", wide 3 mm, thick 1.7 mm, gap 3 mm',
    "flat split band": 'split-shank b: finger "us 6", wide 3 mm, thick 1.7 mm, gap 2 mm, profile flat',
    "soft bar": "bar b: size 20 x 5 x 2 mm, corner 1 mm, soften 0.4 mm, rims both",
    "soft heart": "plate p: heart 12 x 12 mm, thick 2 mm, soften 0.4 mm",
    "rope": "disc d: across 18 mm, thick 1.5 mm\ntwist t: along rim of d, wire 0.8 mm",
    "three-strand rope": (
        "path l: through (0, 0) to (10, 4 mm) to (20, 0 mm), smooth\n"
        "twist t: along l, wire 0.8 mm, strands 3, hand left"
    ),
    "letters": STRIP + 'engrave e: letters "Aé8&", tall 2.5 mm, at face of strip, in strip',
    "raised letters": STRIP
    + 'engrave e: letters "AB", tall 2.5 mm, raised, at face of strip, in strip',
    "letters round a coin": (
        "disc d: across 18 mm, thick 1.5 mm\n"
        'engrave e: letters "ABC", tall 2 mm, along rim of d, inset 2 mm, centred 25 '
        "%, heads-out, in d"
    ),
    "letters inside a ring": (
        'band b: finger "us 8", wide 5 mm, thick 2 mm\n'
        'engrave e: letters "ALWAYS", tall 2 mm, deep 0.3 mm, along inside-around of b, in b'
    ),
    "engraved outline": STRIP + "engrave e: marquise 6 x 3 mm, at face of strip, in strip",
    "bent strip": STRIP + "bend r: of strip, inside 17 mm",
    "closed strip": "bar s: size 58 x 4 x 1.5 mm\nbend r: of s, inside 17 mm, closed",
    "dapped leaf": "plate p: marquise 14 x 7 mm, thick 1.2 mm\ndap d: of p, ball 20 mm, cupped",
    "tapered hole": STRIP + "drill h: at face of strip, across 2 mm, narrow 1 mm, deep 1.3 mm",
    "tapered wire": (
        "path l: through (0, 0) to (10, 4 mm) to (20, 0 mm), smooth\n"
        "wire w: along l, half-round 2 x 1 mm, taper 1 mm"
    ),
}


def fault_codes(text: str, **files: str | bytes) -> list[str]:
    texts = Texts({"piece.posy": text, **{n.replace("_", "."): f for n, f in files.items()}})
    made = check("piece.posy", files=texts)
    return [fault.code for fault in made.faults if fault.level.value == "fault"]


def with_files(text: str, **files: str | bytes) -> Built:
    texts = Texts({"piece.posy": text, **{n.replace("_", "."): f for n, f in files.items()}})
    made = build("piece.posy", files=texts, check_metal=False)
    assert not [f for f in made.faults if f.level.value == "fault"], made.faults
    return made


@pytest.mark.parametrize("text", PIECES.values(), ids=PIECES)
def test_it_is_one_closed_body(text: str) -> None:
    (part,) = built(text, check_metal=False).parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    assert mesh.is_watertight and mesh.is_winding_consistent
    assert mesh.body_count == 1


@pytest.mark.parametrize("text", PIECES.values(), ids=PIECES)
def test_its_weight_does_not_depend_on_the_tolerance(text: str) -> None:
    fine = volume(text, tolerance=0.001, check_metal=False)
    assert volume(text, check_metal=False) == pytest.approx(fine, rel=0.0005)


@pytest.mark.parametrize("text", PIECES.values(), ids=PIECES)
def test_the_same_text_gives_the_same_metal(text: str) -> None:
    first, second = (built(text, check_metal=False).parts[0] for _ in range(2))
    assert first.points.tobytes() == second.points.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()


def test_a_softened_rim_lies_where_the_face_begins() -> None:
    text = (
        "bar b: size 20 x 6 x 2 mm, soften 0.5 mm\n"
        "ball g: along rim of b, number 40, across 0.2 mm, inward 0.1 mm"
    )
    (part,) = built(text, check_metal=False).parts
    top = part.points[part.points[:, 2] > 2.05]
    assert np.abs(top[:, 0]).max() < 9.5 + 0.11
    assert np.abs(top[:, 1]).max() < 2.5 + 0.11


def test_a_signet_offers_its_table() -> None:
    text = (
        "signet s: inside 18 mm, oval 12 x 14 mm, height 2.5 mm, wide 5 mm, thick 2 mm\n"
        "ball g: at top of s, across 1 mm, inward 0.5 mm"
    )
    (part,) = built(text, check_metal=False).parts
    assert part.points[:, 2].max() == pytest.approx(9 + 2.5 + 0.5, abs=1e-6)
    assert np.abs(part.points[:, 1]).max() == pytest.approx(7, abs=1e-6)
    radius = np.hypot(part.points[:, 0], part.points[:, 2])
    assert radius.min() == pytest.approx(9, abs=0.01)  # bored to size under the head too


def test_strands_part_by_the_gap() -> None:
    (part,) = built("split-shank b: inside 17 mm, wide 3 mm, thick 2 mm, gap 3 mm", check_metal=False).parts
    head = part.points[(part.points[:, 2] > 8) & (np.abs(part.points[:, 0]) < 0.5)]
    assert np.abs(head[:, 1]).min() == pytest.approx(1.5, abs=0.08)
    back = part.points[part.points[:, 2] < -8]
    assert np.abs(back[:, 1]).max() == pytest.approx(1.5, abs=0.08)


@pytest.mark.parametrize("profile", ["d", "half-round", "flat"])
def test_strands_run_out_smoothly_in_the_one_shank(profile: str) -> None:
    """The area of the metal cut through every 2 degrees, and how high it stands."""
    shank = f"split-shank b: inside 17 mm, wide 3.6 mm, thick 1.8 mm, gap 3 mm, profile {profile}"
    (part,) = built(shank, check_metal=False).parts
    solid = plain(part.points, part.triangles)
    areas, heights = [], []
    for angle in np.radians(np.arange(64, 124, 2)):
        out = np.array([np.sin(angle), 0.0, np.cos(angle)])
        cut = np.array([out, [0.0, 1.0, 0.0], np.cross(out, [0.0, 1.0, 0.0])])
        loops = solid.transform(np.c_[cut, np.zeros(3)]).slice(0.0).to_polygons()
        half = [p for p in loops if p[:, 0].mean() > 0]
        after = [np.roll(p, -1, axis=0) for p in half]
        areas.append(sum(float(p[:, 0] @ q[:, 1] - q[:, 0] @ p[:, 1]) / 2 for p, q in zip(half, after, strict=True)))
        heights.append(max(p[:, 0].max() for p in half))
    assert np.abs(np.diff(areas, 2)).max() < 0.02 * np.mean(areas)
    assert np.ptp(heights) < 0.03


def test_arms_of_a_split_shank_lie_on_its_metal_on_all_four_sides_of_the_head() -> None:
    """Stones on both strands and both shoulders in one line, with no reckoned height; 0 % is at the head."""
    shank = "split-shank b: inside 17 mm, wide 3.4 mm, thick 1.8 mm, gap 3 mm, profile flat"
    row = "stone s: round 1 mm, gem ruby, along arms of b, stretch 40 % to 80 %, gap 0.2 mm"
    stood = np.array([one.frame[:3, 3] for one in built(f"{shank}\n{row}\nbead-set g: for s, in b").stones])
    assert np.hypot(stood[:, 0], stood[:, 2]) == pytest.approx(8.5 + 1.8, abs=0.01)
    assert (np.abs(stood[:, 0]) > 4).all() and (stood[:, 2] > 3).all()
    quarters, counts = np.unique(np.sign(stood[:, :2]), axis=0, return_counts=True)
    assert len(quarters) == 4 and len(set(counts.tolist())) == 1
    each = "each way in arms of b\n  stone: round 1 mm, gem ruby, along way, stretch 40 % to 80 %, number 3"
    assert len(build("p.posy", files=Texts({"p.posy": f"{shank}\n{each}"})).stones) == 12


def test_one_path_given_for_places_is_told_how_to_be_gone_along() -> None:
    shank = "split-shank b: inside 17 mm, wide 3 mm, thick 1.7 mm, gap 3 mm"
    for line in ("each way in around of b\n  ball k: at way, across 1 mm",
                 "ball k: at pick(around of b, 1), across 1 mm"):  # fmt: skip
        (fault,) = check("p.posy", files=Texts({"p.posy": f"{shank}\n{line}"})).faults
        assert "along around of b, fit 2 mm" in fault.remedy
    cured = f"{shank}\nball k: along strands of b, fit 2 mm, across 2 mm"
    assert built(cured, check_metal=False).parts


def test_bore_leaves_no_metal_in_the_finger_hole() -> None:
    text = (
        "band b: inside 17 mm, wide 3 mm, thick 2 mm\n"
        "ball head: across 6 mm, at top of b, inward 4.5 mm\n"
        "bore clear: of b, in head"
    )
    (part,) = built(text, check_metal=False).parts
    assert np.hypot(part.points[:, 0], part.points[:, 2]).min() > 8.49


def test_rope_closes_exactly_and_offers_its_line() -> None:
    text = (
        "disc d: across 20 mm, thick 1.5 mm\ntwist t: along rim of d, wire 1 mm, pitch 5 mm\n"
        "measure long = length of t"
    )
    made = built(text, check_metal=False)
    assert made.measures["long"][0] == pytest.approx(math.pi * 20, rel=1e-4)


def test_what_stands_on_a_strip_is_bent_along() -> None:
    text = (
        "workpiece strip\n  bar flat: size 50 x 4 x 1.4 mm\n  ball dot: at face of flat, right 12 mm, across "
        "1 mm, inward 0.5 mm\n  stone gem: round 2 mm, gem garnet, at face of flat\n"
        "bend ring: of strip, inside 17 mm\n"
        "ball far: at dot of strip, across 1.4 mm"
    )
    made = built(text, check_metal=False)
    angle = 12 / (8.5 + 0.7)
    spot = np.array([math.sin(angle), 0, math.cos(angle)]) * (8.5 + 1.4 - 0.5)
    (part,) = made.parts
    # The dot's ground is where `far` begins, and the ball reaches 1.4 mm out of it.
    out = spot / np.linalg.norm(spot)
    assert ((part.points - spot) @ out).max() == pytest.approx(1.4, abs=0.01)
    assert np.linalg.norm(part.points - (spot + 1.4 * out), axis=1).min() < 0.05
    (stone,) = made.stones
    assert stone.frame[:, 3] == pytest.approx([0, 0, 9.9], abs=1e-6)
    assert stone.frame[:, 2] == pytest.approx([0, 0, 1], abs=1e-6)


def test_places_made_before_bending_can_be_used_after_it() -> None:
    text = (
        "workpiece strip\n  bar flat: size 50 x 4 x 1.4 mm\n  spots marks: row 5, every 8 mm, out 1.4 mm\n"
        "bend ring: of strip, inside 17 mm\n"
        "ball dots: at marks of strip, across 1 mm, inward 0.4 mm"
    )
    (part,) = built(text, check_metal=False).parts
    out = np.hypot(part.points[:, 0], part.points[:, 2])
    assert out.max() == pytest.approx(8.5 + 1.4 + 0.6, abs=0.01)


def test_a_bent_strip_leaves_other_metal_and_its_cuts_alone() -> None:
    other = "bar foot: size 6 x 6 x 2 mm, right 30 mm\n"
    cut = "drill h: at face of foot, across 2 mm\n"
    text = other + STRIP + cut + "bend r: of strip, inside 17 mm"
    alone = volume(other + cut, check_metal=False)
    bent = volume(STRIP + "bend r: of strip, inside 17 mm", check_metal=False)
    assert volume(text, check_metal=False) == pytest.approx(alone + bent, rel=1e-6)


def test_the_middle_of_a_dapped_disc_stays() -> None:
    (part,) = built("disc d: across 14 mm, thick 1 mm\ndap b: of d, ball 24 mm", check_metal=False).parts
    assert part.points[:, 2].max() == pytest.approx(1, abs=0.01)
    assert part.points[:, 2].min() < -1.5


def test_two_metals_are_two_parts_without_overlap() -> None:

    text = (
        'piece "Two"\n  metal silver-925\n'
        "band rail: inside 20 mm, wide 2.4 mm, thick 1.5 mm, metal gold-585-yellow\n"
        "band ring: inside 18 mm, wide 6 mm, thick 2.2 mm, comfort"
    )
    parts = built(text, check_metal=False).parts
    assert sorted(part.metal for part in parts) == ["gold-585-yellow", "silver-925"]
    solids = [solid_of(p) for p in parts]
    assert (solids[0] ^ solids[1]).volume() == pytest.approx(0, abs=1e-6)
    for solid in solids:
        assert len(solid.decompose()) == 1


@pytest.mark.parametrize(
    "text",
    [
        "bar b: size 20 x 5 x 2 mm, soften 0.4 mm, bevel 0.4 mm",
        "plate p: oval 14 x 3 mm, thick 3 mm, soften 1.6 mm",
        'band b: finger "us 7", wide 4 mm, thick 2 mm, profile d, soften 0.3 mm',
        'band b: finger "us 7", wide 4 mm, thick 2 mm, soften 1.9 mm',
        'signet s: finger "us 7", wide 4 mm, thick 2 mm, height 2.5 mm',
        "disc d: across 1 mm, thick 1 mm\ntwist t: along rim of d, wire 1 mm",
        STRIP + "bend r: of strip, inside 17 mm, closed",
        STRIP + "bend r: of strip, inside 17 mm, circle 3, radius 30 mm",
        "disc d: across 40 mm, thick 1 mm\ndap b: of d, ball 3 mm",
        STRIP + "engrave e: in strip, at face of strip",
    ],
    ids=range(10),
)
def test_figures_that_make_nothing_are_faults(text: str) -> None:
    assert fault_codes(text)


@pytest.mark.parametrize(
    ("said", "code"),
    [("star 5", "clause-missing"), ("star 3, across 9 mm", "out-of-range"), ("star 8, across 9 mm, notch 6 %", "out-of-range"),
     ("star 5, across 9 mm, corner 3 mm", "corner-too-round"), ("polygon 5, across 9 mm, notch 40 %", "clause-idle")],
)  # fmt: skip
def test_what_is_no_star_is_told(said: str, code: str) -> None:
    assert codes(made(f"plate s: {said}, thick 1 mm\n")) == [code]


@pytest.mark.parametrize(
    ("said", "code"),
    [("spiral 9 mm", "size-members"), ("spiral 9 mm to 9 mm", "size-members"), ("spiral 9 mm to 2 mm, turns 0", "out-of-range"),
     ("spiral 9 mm to 2 mm, turns 9", "path-meets-itself"), ("round 9 mm, turns 2", "clause-idle")],
)  # fmt: skip
def test_what_is_no_spiral_is_told(said: str, code: str) -> None:
    assert code in codes(made(f"path s: {said}\nwire w: along s, round 1 mm\n"))


def test_a_spiral_begins_at_its_right_and_goes_the_way_it_is_told() -> None:
    text = "path s: spiral 10 mm to 5 mm, turns {}\nball b: at ends of s, across 1 mm\n"
    for turns, end in ((1.25, (0, 2.5)), (-1.25, (0, -2.5))):
        stands = laid(text.format(turns), "b").frames[:, :2, 3]
        assert stands[0] == pytest.approx((5, 0), abs=1e-6) and stands[1] == pytest.approx(end, abs=1e-6)


@pytest.mark.parametrize(
    ("said", "told"),
    [("wide 8 mm", []), ("long 8 x 6 mm", []), ("wide 8 mm, long 8 x 6 mm", ["clauses-disagree"]),
     ("right 2 mm", ["clause-missing"])],
)  # fmt: skip
def test_of_clauses_handed_on_one_is_left(said: str, told: list[str]) -> None:
    word = (
        'word token\n  help "A token."\n  example "token t: wide 8 mm"\n  takes wide: length, help "round"\n'
        '  takes long: size, help "oval"\n  plate face: round wide, oval long, thick 1 mm\n'
    )
    assert fault_codes(f"{word}token t: {said}") == told


@pytest.mark.parametrize(("profile", "wanted"), [
    ("(5, 0) to (5, 10 mm)", np.pi * 10 * (25 - 16)),  # open at both ends: a tube
    ("(0, 0) to (5, 0) to (5, 10 mm)", np.pi * (25 * 10 - 16 * 9)),  # a beaker
    ("(5, 0) to (5, 10) to (0, 10 mm)", np.pi * (25 * 10 - 16 * 9)),  # open below: a cap
    ("(5, 10) to (5, 0) to (0, 0 mm)", np.pi * (25 * 10 - 16 * 9)),  # drawn the other way
])  # fmt: skip
def test_a_turned_wall_is_as_thick_all_over(profile, wanted):
    """Tube, beaker and cap of 1 mm wall (elementary geometry)."""
    assert volume(f"turned cup: through {profile}, wall 1 mm\n") == pytest.approx(wanted, rel=0.002)
    assert "path-crosses-itself" in codes(made(f"turned cup: through {profile}, wall 6 mm\n"))


def test_beads_run_along_the_edges_of_a_turned_body():
    cup = "turned cup: through (0, 0) to (5, 0) to (5, 10 mm), wall 1 mm\n"
    cup += "bead-line beads: along {} of cup, bead 0.5 mm\n"
    assert not built(cup.format("rim")).faults
    assert not built(cup.format("back-rim")).faults
    pointed = "turned cup: through (5, 0) to (0, 10 mm)\nbead-line beads: along rim of cup, bead 0.5 mm\n"
    assert "not-offered" in codes(made(pointed))


def test_a_rope_ends_and_begins_anew_at_a_corner():
    """As long as the rim, in strands of the wire's section: one length of rope round a pear, whose tip is sharp."""
    text = "path p: pear 10 x 14 mm\ntwist t: along p, wire 0.5 mm, pitch 40 mm, fused 2 %\n"
    length = laid(text, "p").look("length").value
    assert volume(text) == pytest.approx(2 * length * math.pi * 0.25**2, rel=0.03)
    assert not codes(made("plate p: pear 10 x 14 mm, thick 1 mm\n" + text.replace("path p", "path q")))


@pytest.mark.parametrize("cut", ["pear 10 x 14 mm", "marquise 16 x 8 mm", "rectangle 14 x 10 mm"])
def test_the_wires_of_a_rope_end_round_at_a_corner(cut: str) -> None:
    """One body, and no ridge on it: a wire cut off square has edges of 90 degrees (elementary geometry)."""
    (part,) = built(f"path p: {cut}\ntwist t: along p, wire 0.9 mm").parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    assert mesh.body_count == 1
    assert np.degrees(mesh.face_adjacency_angles[mesh.face_adjacency_convex]).max() < 45


def test_a_taper_of_one_figure_narrows_a_shank_and_leaves_it_as_thick() -> None:
    line = "band shank: inside 17 mm, wide 3 mm, thick 1.9 mm, taper {}\n"
    one, two = (built(line.format(taper)).parts[0].points for taper in ("2 mm", "2 x 1.9 mm"))
    assert np.array_equal(one, two)


@pytest.mark.parametrize(
    ("plate", "size"),
    [
        ("plate back: outline edge, thick 1 mm", (7, 11)),
        ("plate back: outline edge, thick 1 mm, at one", (7, 11)),
        ("plate back: outline edge, thick 1 mm, under one", (7, 11)),
        ("plate back: outline edge, thick 1 mm, turn 0 deg", (11, 7)),
        ("workpiece piece: at one\n  plate back: outline edge, thick 1 mm", (7, 11)),
    ],
)
def test_a_plate_drawn_as_a_stone_lies_as_that_does(plate: str, size: tuple[float, float]) -> None:
    """As a jeweler cuts a back plate round the stone that lies on it: common practice, no source."""
    stone = "stone one: oval 5 x 9 mm, gem garnet, out 3 mm\npath edge: beside outline of one, outset 1 mm\n"
    (part,) = made(stone + plate).parts
    assert np.ptp(part.points, axis=0)[:2] == pytest.approx(size, abs=0.01)
