"""Findings by their measures: a rebate in a locket, a cufflink bar that swivels, a strap bail that hangs."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from texts import made as built
from texts import solid_of

from posy.compiler.geometry.circle import circle_near
from posy.lang.faults import Level


def volume(text: str) -> float:
    return float(sum(part.volume for part in built(text).parts))


def test_a_rebate_takes_a_ring_of_metal_from_the_wall() -> None:
    """A ring of metal pi (R^2 - r^2) h: elementary geometry."""
    disc = "disc shell: across 20 mm, thick 4 mm\nhollow room: in shell, wall 2 mm, roof 1 mm"
    taken = volume(disc) - volume(disc + ", rebate 0.8 x 1.2 mm")
    assert taken == pytest.approx(math.pi * (8.8**2 - 8.0**2) * 1.2, rel=1e-3)
    ledge = '\npath line: beside ledge of room\nexpect abs(length of line - 55.29 mm) < 0.05 mm, else "no"'
    assert not [f for f in built(f"{disc}, rebate 0.8 x 1.2 mm{ledge}").faults if f.level is Level.FAULT]
    (told,) = [f for f in built(f"{disc}, rebate 1.9 x 1.2 mm").faults if f.level is Level.FAULT]
    assert told.code == "wall-too-thick"


def test_a_cufflink_bar_turns_into_line_between_its_arms() -> None:
    """Turned by a quarter about its pin the bar meets neither arms nor foot."""
    made = built("disc front: across 17 mm, thick 2 mm\ncufflink-back back: at back of front, swivel")
    assert not [f for f in made.faults if f.level is not Level.HINT]
    link = next(part for part in made.parts if not part.bought)
    bar = max((part for part in made.parts if part.bought), key=lambda part: np.ptp(part.points[:, 0]))
    middle = bar.points[:, 2].mean()
    turned = bar.points - (0.0, 0.0, middle)
    turned = turned[:, [2, 1, 0]] * (1, 1, -1) + (0.0, 0.0, middle)
    beside = np.abs(turned[:, 1]).max()
    arms = link.points[link.points[:, 2] < middle + 1.0]
    assert np.abs(arms[:, 1]).min() > beside + 0.05
    floor = link.points[np.abs(link.points[:, 1]) < beside][:, 2].min()
    assert turned[:, 2].max() < floor


def test_a_circle_is_found_of_spots_along_an_arc() -> None:
    turn = np.linspace(0.2, 2.8, 40)
    middle, axis, radius = circle_near(
        np.stack((3 * np.cos(turn) + 1, np.full(40, 2.0), 3 * np.sin(turn)), axis=1)
    )
    assert middle == pytest.approx([1, 2, 0], abs=1e-9) and radius == pytest.approx(3)
    assert abs(axis[1]) == pytest.approx(1)


def test_a_piece_hangs_by_its_strap() -> None:
    text = "disc medal: across 14 mm, thick 1.6 mm\ntapered-bail loop: at top of medal"
    off = text.replace("at top of medal", "at (3, 6.3, 0.8 mm), turn 90 deg")
    assert "leans" in [fault.code for fault in built(off).faults]
    assert "leans" not in [fault.code for fault in built(text).faults]


LOCKET = """casting base
  plate shell: round 24 mm, thick 3 mm, inward 3.05 mm
  pierce well: round 20 mm, deep 2 mm, in shell
  locket-catch snap: at right of shell, in shell
casting lid: lean 180 deg
  plate lid-shell: round 24 mm, thick 3 mm, inward 3.05 mm
  pierce lid-well: round 20 mm, deep 2 mm, in lid-shell
  locket-catch dimple: at left of lid-shell, in lid-shell, other
"""


def test_a_locket_snaps_shut_and_is_held() -> None:
    """Shut, the halves touch nowhere; lifted, the lid is stopped by the bump until that is past the dimple."""
    made = built(LOCKET)
    assert not [f for f in made.faults if f.level is not Level.HINT]
    base, lid = (solid_of(one) for one in made.parts)
    meets = {up: (base ^ lid.translate((0, 0, up))).volume() for up in (-0.04, 0.0, 0.02, 0.35, 0.6, 1.3)}
    assert not any(meets[up] > 1e-9 for up in (-0.04, 0.0, 0.02, 1.3))
    assert meets[0.35] > 0.001 and meets[0.6] > meets[0.35] / 2


def test_a_catch_needs_a_wall_behind_its_dimple() -> None:
    thin = LOCKET.replace("of shell, in shell", "of shell, reach 2 mm, bump 1.4 mm, in shell").replace("20 mm", "22.6 mm")
    (told,) = [f for f in built(thin).faults if f.level is Level.FAULT][:1]
    assert "no wall is left behind the dimple" in told.message


def test_the_dimple_of_a_short_lip_stays_below_the_rim() -> None:
    short = LOCKET.replace("right of shell,", "right of shell, reach 0.7 mm,").replace("other", "other, reach 0.7 mm")
    base, lid = (solid_of(one) for one in built(short).parts)
    assert (base ^ lid).volume() < 1e-9 < (base ^ lid.translate((0, 0, 0.3))).volume()
    told = built(short.replace("other", "other, bump 0.8 mm")).faults
    assert any("breaks out through the rim" in one.message for one in told)


@pytest.mark.parametrize(("said", "fits"), [("long 18 mm", True), ("long 24 mm", False), ("long 16 mm", True)])
def test_the_leaf_of_a_hinge_reaches_along_its_knuckles(said: str, fits: bool) -> None:
    plate = "plate leaf: rectangle 20 x 20 mm, thick 2.6 mm, inward 1.3 mm\nspots axis: up 10.3 mm\n"
    leaf = f"{plate}hinge a: at axis, in leaf, {said}"
    aside = leaf.replace("up 10.3 mm", "up 10.3 mm, right 4 mm")
    assert fits is not any("past the end of their leaf" in one.message for one in built(leaf).faults)
    assert any("past the end of their leaf" in one.message for one in built(aside).faults)
    # The other half has its one knuckle in the middle.
    assert not [one for one in built(f"{aside}, other").faults if one.level is Level.FAULT]


@pytest.mark.parametrize(
    ("face", "turn", "reach"),
    [("round 14 mm", 0, 14), ("round 19 mm", 0, 17), ("rectangle 10 x 16 mm", 90, 16), ("round 8 mm", 0, 12)],
)
def test_the_bar_of_a_cufflink_lies_hidden_behind_its_face(face: str, turn: int, reach: float) -> None:
    cuff = built(f"plate face: {face}, thick 2 mm\ncufflink-back back: at back of face, turn {turn} deg")
    points = solid_of(cuff.parts[0]).to_mesh().vert_properties[:, :3]
    bar = points[points[:, 2] < -15]
    assert np.ptp(bar, axis=0).max() == pytest.approx(reach, abs=0.7) and np.ptp(bar, axis=0).max() <= reach + 0.02


def test_a_bump_snaps_into_the_wall_behind_a_rebate() -> None:
    well = "pierce lid-well: round 20 mm, deep 2 mm, in lid-shell"
    photo = LOCKET.replace(well, f"{well}\n  pierce step: round 21 mm, deep 0.8 mm, in lid-shell")
    (told,) = [f for f in built(photo).faults if f.level is Level.FAULT]
    assert "the step of the rebate lies 0.75 mm under the rim" in told.message
    said = re.search(r"write (reach \S+ mm, bump \S+ mm) in both", told.remedy or "")
    assert said is not None and said[1] == "reach 1.85 mm, bump 0.75 mm"
    base, lid = (solid_of(one) for one in built(re.sub("(locket-catch.*)", rf"\1, {said[1]}", photo)).parts)
    assert (base ^ lid).volume() < 1e-9 and (base ^ lid.translate((0, 0, 0.4))).volume() > 0.001


def test_a_round_of_chain_is_told_what_it_cannot_be() -> None:
    eyes = "bail eyes: at (-20, 0) to (20, 0 mm), wire 1 mm, inside 2.2 mm\nchain t: "
    for said, message in (
        ("from right of eyes, back-to pick(right of eyes, 2), long 400 mm", "begins at one place"),
        ("from pick(right of eyes, 1), back-to pick(right of eyes, 2), long 60 mm", "too long for a round"),
        ("from pick(right of eyes, 1), long 400 mm", "where it comes back to"),
        ("from right of eyes, long 100 mm, clasp-room 18.96 mm", "too long for a round"),
        ("from right of eyes, long 440 mm, clasp-room 18.96 mm, kind curb, wire 1.2 mm", "a loop that lies flat"),
    ):
        assert any(message in one.message for one in built(eyes + said).faults), said


NECKLACE = """plate name: rectangle 40 x 8 mm, thick 1.6 mm
bail eyes: at {ends}, wire 1 mm, inside 2.6 mm{said}
chain trace: from right of eyes, long {long} mm, clasp-room 20.16 mm, {chain}, bought
casting box
  box-clasp lock: at clasp of trace, loop 2.8 mm
casting key
  box-clasp snap: at clasp of trace, tongue, loop 2.8 mm
"""


@pytest.mark.parametrize(("ends", "said", "long", "chain", "least"), [
    ("ends of name", "", 440, "wire 0.7 mm", 150), ("ends of name", ", stand, up 2 mm", 440, "wire 0.7 mm", 150),
    ("left of name + right of name", "", 190, "wire 0.8 mm", 45), ("ends of name", ", stand", 190, "kind curb, wire 1.2 mm", 36),
    ("ends of name", ", stand", 190, "kind figaro, wire 1.2 mm", 30),
])  # fmt: skip
def test_a_chain_goes_from_a_middle_to_its_clasp_behind(ends: str, said: str, long: int, chain: str, least: int) -> None:
    """Its end links go through eyes, flat or on edge, and through the clasp's loops, and share no metal with them;
    the clasp lies straight above the middle, chords and arcs are as long in all as was said."""
    made = built(NECKLACE.format(ends=ends, said=said, long=long, chain=chain), tolerance=0.02)
    assert not [one for one in made.faults if one.level is not Level.HINT]
    name, links, box, key = (solid_of(part) for part in made.parts)
    assert not any((links ^ one).volume() > 1e-9 for one in (name, box, key)) and len(links.decompose()) > least
    spots = np.array([np.array(one.to_mesh64().vert_properties)[:, :3].mean(axis=0) for one in links.decompose()])
    order = np.argsort(np.arctan2(spots[:, 1] - spots[:, 1].mean(), spots[:, 0]))
    steps = np.linalg.norm(np.diff(spots[order], axis=0, append=spots[order][:1]), axis=1)
    assert steps.sum() == pytest.approx(long, rel=0.02)
    assert box.bounding_box()[1] > name.bounding_box()[4] and abs(box.bounding_box()[0] + key.bounding_box()[3]) < 0.1


STATIONS = """{way}station-chain trace: {said}, wire 0.7 mm, room 13.1 mm, stations 3, bought
casting station: at station of trace
  stone s: round 4 mm, gem diamond, out 1 mm
  bezel cup: for s
  jump-ring west: at left of cup, right 1.7 mm, wire 0.8 mm, inside 2.8 mm
  jump-ring east: at right of cup, right 1.7 mm, wire 0.8 mm, inside 2.8 mm, tilt 90 deg
"""
OPEN = "path way: through (-60, 0) to (60, 0 mm)\n"


@pytest.mark.parametrize(
    ("way", "said", "stretches"),
    [
        (OPEN, "along way, every 25 mm", [120 / 2 - 25 - 5.64, 25 - 11.28, 25 - 11.28, 120 / 2 - 25 - 5.64]),
        (OPEN, "along way", [30 - 5.64, 30 - 11.28, 30 - 11.28, 30 - 5.64]),
        ("", "long 240 mm", [80 - 11.28] * 3),
        ("", "long 240 mm, every 40 mm", [40 - 11.28, 40 - 11.28, 160 - 11.28]),
    ],
)
def test_a_chain_with_stations_weighs_what_its_links_do(way: str, said: str, stretches: list[float]) -> None:
    """Links of about 3.92 x 2.52 mm outside: two straights and a round, by Pappus times the section; in pairs, so
    long that whole ones fill each stretch at a pitch of the link less 2.25 wires."""
    made = built(STATIONS.format(way=way, said=said))
    assert [f.code for f in made.faults if f.level is not Level.HINT] in ([], ["thin-loop"] * 2)
    counts = [2 * round(one / 2.345 / 2 - min(0.15, 2 * 2.345 / one)) for one in stretches]
    longs = [one / count + 2.25 * 0.7 for one, count in zip(stretches, counts, strict=True)]
    links = [(2 * (long - 2.52) + math.pi * (2.52 - 0.7)) * math.pi * 0.35**2 for long in longs]
    chain = sum(part.volume for part in made.parts if part.bought)
    assert chain == pytest.approx(sum(count * link for count, link in zip(counts, links, strict=True)), rel=2e-3)
    assert len({part.casting for part in made.parts if not part.bought}) == 3


def test_stations_have_room_on_their_chain() -> None:
    for every, told in (("every 9 mm", "stand in one another"), ("every 90 mm", "longer than the chain")):
        (fault,) = built(f"station-chain t: long 200 mm, room 12 mm, stations 3, {every}\n").faults
        assert told in fault.message


def test_a_studs_pad_has_its_bar_where_a_halos_tray_stands_behind() -> None:
    """The open back of a head, its halo's tray farther forward: the pad is carried, nothing is loose."""
    text = "stone main: cushion 5 x 5 mm, gem tanzanite\nbasket head: for main\n{}ear-post post: at back of head\n"
    halo = "halo ring: for main, gem diamond, across 1.2 mm\n"
    for line in ("", halo):
        assert "loose-piece" not in {fault.code for fault in built(text.format(line)).faults}


HALF = (
    "plate half: heart 22 x 22 mm, upright, thick 1.5 mm\n"
    "path other: closed, through (0, 13) to (0, -13) to ({}, -13) to ({}, 13 mm)\npierce saw: outline other, in half\n"
)


@pytest.mark.parametrize(("side", "other"), [("left", 14), ("right", -14)])
def test_a_ring_that_dips_into_its_metal_is_moved_along_it(side: str, other: int) -> None:
    """Where its wire hides the metal below it a ring still stands on that: the move told hangs it straight."""
    text = HALF.format(other, other) + "jump-ring eye: " + side + " {:g} mm, up 12.8 mm, out 0.75 mm, wire 1 mm, inside 4 mm"
    (told,) = [one for one in built(text.format(6)).faults if one.code == "leans"]
    assert told.remedy is not None and (figure := re.search(r"move the loop ([\d.]+) mm to the", told.remedy))
    assert "leans" not in [one.code for one in built(text.format(6 - float(figure[1]))).faults]


def test_a_ring_is_not_moved_where_no_metal_is() -> None:
    text = "plate stem: rectangle 3 x 16 mm, thick 1.5 mm\nplate foot: rectangle 14 x 3 mm, thick 1.5 mm, right 6 mm, down 7 mm\n"
    text += "jump-ring eye: up 9.2 mm, out 0.75 mm, wire 1 mm, inside 3 mm"
    (told,) = [one for one in built(text).faults if one.code == "leans"]
    assert "no metal stands close below" in (told.remedy or "")


@pytest.mark.parametrize(("kind", "long", "wire"), [
    ("cable", 420, ", wire 1 mm"), ("curb", 420, ", wire 1 mm"), ("cable", 420, ""), ("cable", 180, ""), ("cable", 180, ", wire 0.5 mm"),
])  # fmt: skip
def test_a_chain_goes_round_the_loops_of_its_clasp_and_through_them(kind: str, long: int, wire: str) -> None:
    """Chain and halves share no metal, and the end links turn in the loops: nothing is told of them."""
    text = f"""spots shut: up 0 mm
casting box
  box-clasp lock: at shut, loop 2.8 mm
casting key
  box-clasp snap: at shut, tongue, loop 2.8 mm
chain neck: long {long} mm, from left of box, back-to right of key, kind {kind}{wire}, bought
"""
    made = built(text, tolerance=0.02)
    solids = [solid_of(part) for part in made.parts]
    assert len(solids) == 3
    chain = max(solids, key=lambda one: one.bounding_box()[4] - one.bounding_box()[1])
    links = [np.array(one.to_mesh64().vert_properties)[:, :3] for one in chain.decompose()]
    for half in (one for one in solids if one is not chain):
        assert (half ^ chain).volume() < 1e-9
        wide = np.array(half.to_mesh64().vert_properties)[:, :3]
        assert any(points[:, 0].min() < wide[:, 0].max() < points[:, 0].max() for points in links) or any(
            points[:, 0].min() < wide[:, 0].min() < points[:, 0].max() for points in links
        )
    assert not [fault for fault in made.faults if fault.code in ("tight-link", "loose-piece", "links-apart")]


def test_a_chain_along_a_path_is_placed_at_a_place_as_wire_is() -> None:
    text = "path way: through (0, 0) over (16, -9) to (32, 0 mm)\nspots aside: up 12 mm, out 3 mm\nchain neck: along way"
    here, there = built(text, check_metal=False), built(f"{text}, at aside", check_metal=False)
    assert not [one for one in there.faults if one.level is Level.FAULT]
    boxes = [np.array(solid_of(one.parts[0]).bounding_box()) for one in (here, there)]
    assert boxes[1] - boxes[0] == pytest.approx([0, 12, 3, 0, 12, 3], abs=1e-6)


def test_a_clause_of_another_word_is_told_by_that_word() -> None:
    told = [one for one in built("jump-ring r: wire 1 mm, inside 4 mm, stand").faults if one.code == "unknown-clause"]
    assert [one.remedy for one in told] == ["stand is said on bail"]


MOON = """path edge: closed, through (6.6, 10) over (-12, 0) to (6.6, -10) over (-6, 0) to (6.6, 10 mm)
plate moon: outline edge, thick 2 mm
bail loop: at top of moon, {}wire 1 mm, inside 3.6 mm
"""


@pytest.mark.parametrize("eye", ["", "bail eye: at (6.2, 9.1, 1 mm), turn -60 deg, wire 0.9 mm, inside 1.8 mm\n"])
def test_a_loop_is_moved_along_a_rim_that_bends_away(eye: str) -> None:
    """A crescent on a loop at its top: beside it the rim still carries one, and a charm's small eye at its
    horn is no second loop to hang by, nor does the whole weight hang in it."""
    told = [fault for fault in built(MOON.format("") + eye).faults if fault.code in ("leans", "thin-loop")]
    assert [fault.code for fault in told] == ["leans"]
    assert told[0].span.line == 3 and told[0].remedy is not None
    said = told[0].remedy.partition(": write ")[2].partition(" in its line")[0]
    cured = built(MOON.format(f"{said}, ") + eye)
    still = [fault for fault in cured.faults if fault.code in ("leans", "loose-piece", "thin-loop")]
    assert not [fault for fault in still if "eye" not in fault.message], said


@pytest.mark.parametrize("lower", [1.6, 3.0])
def test_a_loop_is_let_down_onto_the_metal_where_it_goes(lower: float) -> None:
    text = "plate stem: rectangle 3 x 16 mm, thick 1.5 mm\n"
    text += f"plate side: rectangle 14 x 12 mm, thick 1.5 mm, right 7 mm, up {2 - lower:g} mm\n"
    text += "jump-ring eye: {}, out 0.75 mm, wire 1 mm, inside 3 mm"
    (told,) = [one for one in built(text.format("up 9.6 mm")).faults if one.code == "leans"]
    way = re.match(r"move the loop ([\d.]+) mm to the right and ([\d.]+) mm down", told.remedy or "")
    assert way is not None, told.remedy
    right, down = way.groups()
    cured = built(text.format(f"right {right} mm, up {9.6 - float(down):g} mm")).faults
    assert {"leans", "loose-piece"}.isdisjoint(one.code for one in cured), cured


HEART = """piece "Heart"
  metal silver-925
plate shell: heart 24 x 24 mm, upright, thick 2.8 mm, inward 2.8 mm
spots axis: left {}, turn {} deg
hinge half: at axis, in shell, long 6 mm"""


def test_a_hinge_on_a_flank_is_told_how_much_to_turn_and_how_far_out_to_stand() -> None:
    (askew,) = [one for one in built(HEART.format("11 mm", 90)).faults if one.level is Level.FAULT]
    more = re.search(r"by (\d+) deg more", askew.remedy or "")
    assert more is not None and "does not run along the edge" in askew.message
    turned = HEART.format("11 mm", 90 + int(more[1]))
    assert not [one for one in built(turned).faults if one.code == "expectation"]


def test_a_bolt_ring_closes_a_fine_chain_and_is_weighed_apart() -> None:
    """Bolt rings for necklaces measure 5 to 7 mm across (common practice, no source); tori by Pappus."""
    chain = "chain trace: from eyes, long 420 mm, wire 0.7 mm, loop-wire 1 mm, clasp-room 11.04 mm, bought\n"
    text = "bar name: size 30 x 5 x 1.5 mm\nbail eyes: at ends of name, wire 1 mm, inside 2 mm\n"
    made = built(text + chain + "bolt-ring shut: at clasp of trace\n")
    assert not [f for f in made.faults if f.level is not Level.HINT]
    cast, _, sprung, ring = sorted(made.parts, key=lambda part: (part.bought, int(part.owner.max())))
    assert not cast.bought and ring.volume == pytest.approx(math.pi**2 * 3.6 * 0.5**2, rel=2e-3)
    eye, tube = math.pi**2 * 2.6 * 0.5**2, math.pi**2 * (5.5 - 0.88) * 0.44**2
    assert eye + tube * 0.95 < sprung.volume < (eye + tube) * 1.03
