"""Words of the drawer against closed forms and the kernel: outlines that add, strokes, links, a hinge that
swings, heads that find their shank.

Formulas: circular segment, torus, cylinder (Bronshtein and Semendyayev, Handbook of Mathematics, from
memory). Figures of findings: common practice, no source."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold, Mesh64
from texts import built, codes, laid, made, solid_of, volume


def test_two_discs_as_one_outline() -> None:
    """Two circles of radius 5 whose middles stand 6 apart share a lens."""
    lens = 2 * 25 * math.acos(3 / 5) - 6 / 2 * math.sqrt(4 * 25 - 36)
    lines = "path a: round 10 mm\npath b: round 10 mm, right 6 mm\n"
    for outline, area in (("a + b", 50 * math.pi - lens), ("a - b", 25 * math.pi - lens)):
        made = volume(lines + f"plate p: outline {outline}, thick 2 mm")
        assert made == pytest.approx(2 * area, rel=1e-3)


def test_an_outline_with_a_hole() -> None:
    text = "path a: round 10 mm\npath b: round 4 mm\nplate p: outline a - b, thick 2 mm"
    assert volume(text) == pytest.approx(2 * math.pi * (25 - 4), rel=1e-3)


@pytest.mark.parametrize("profile", ["flat", "d, comfort", "half-round"])
def test_a_stripe_let_in_fills_its_trench(profile: str) -> None:
    """Both metals together are the band before; a flat stripe is a ring of 2 mm by 0.8 mm: pi b (R2 - r2)."""
    band = f"band b: inside 19 mm, wide 6 mm, thick 2.2 mm, profile {profile}"
    trench = "engrave t: along around of b, stroke 2 mm, cut flat, deep 0.8 mm, in b"
    (whole,) = built(band).parts
    (cut,) = built(f"{band}\n{trench}").parts
    base, stripe = built(f"{band}\n{trench}, filled gold-585-rose").parts
    assert (base.volume, stripe.metal) == (cut.volume, "gold-585-rose")
    assert base.volume + stripe.volume == pytest.approx(whole.volume, rel=1e-6)
    if profile == "flat":
        assert stripe.volume == pytest.approx(math.pi * 2 * (11.7**2 - 10.9**2), rel=1e-5)
    assert np.ptp(stripe.points[:, 1]) == pytest.approx(2, abs=1e-6)


def test_a_light_hole_goes_through_what_is_let_in_and_what_is_below() -> None:
    text = (
        "band b: inside 19 mm, wide 6 mm, thick 2.2 mm\n"
        "engrave t: along around of b, stroke 2.4 mm, cut flat, deep 1 mm, in b, filled gold-585-rose\n"
        "stone s: round 1.6 mm, gem diamond, on b, level table\nflush f: for s, in b + t"
    )
    made = built(text)
    assert not [fault.message for fault in made.faults if fault.level.value != "hint"]
    for part in made.parts:  # nothing of either stands within the hole, half the stone wide, below the culet
        near = (np.hypot(part.points[:, 0], part.points[:, 1]) < 0.4) & (part.points[:, 2] > 0)
        assert not near.any()


@pytest.mark.parametrize("marks", ['letters "AB", tall 6 mm', "star 5, across 8 mm", "oval 9 x 6 mm"])
def test_marks_let_in_fill_what_was_cut(marks: str) -> None:
    plate = "disc b: across 18 mm, thick 1.6 mm"
    cut = f"engrave t: {marks}, deep 0.6 mm, at face of b, in b"
    (less,) = built(f"{plate}\n{cut}").parts
    base, inlaid = built(f"{plate}\n{cut}, filled gold-585-yellow").parts
    assert base.volume == less.volume
    assert base.volume + inlaid.volume == pytest.approx(math.pi * 81 * 1.6, rel=1e-6)
    assert inlaid.points[:, 2].min() == pytest.approx(1.0) and inlaid.points[:, 2].max() == pytest.approx(1.6)


@pytest.mark.parametrize(("cut", "area"), [("flat", 0.5), ("vee", 0.25), ("round", math.pi * 0.25 / 2)])
def test_a_stroke_takes_its_section(cut: str, area: float) -> None:
    bar = "bar b: size 30 x 6 x 2 mm\n"
    line = "path l: through (-20, 0, 2) to (20, 0, 2 mm)\n"
    left = volume(bar + line + f"engrave e: stroke 1 mm, along l, deep 0.5 mm, cut {cut}, in b")
    assert 360 - left == pytest.approx(30 * area, rel=2e-3)


def test_a_stroke_round_a_band() -> None:
    """A flat groove all round takes a flat ring (Pappus and Guldinus)."""
    band = "band shank: inside 17 mm, wide 6 mm, thick 2 mm\n"
    groove = "engrave e: stroke 1 mm, along around of shank, deep 0.4 mm, cut flat, in shank"
    gone = volume(band) - volume(band + groove)
    assert gone == pytest.approx(1.0 * math.pi * (10.5**2 - 10.1**2), rel=2e-3)


def test_a_cable_chain_weighs_what_its_links_do() -> None:
    wire, links = 1.0, 10
    link, wide = 5.6 * wire, 3.6 * wire
    bends = math.pi * (wide - wire)
    one = math.pi / 4 * wire**2 * (bends + 2 * (link - wide))
    text = "path l: through (0, 0) to (33.5, 0 mm)\nchain c: along l, wire 1 mm"  # links that need not be made to fill it
    assert volume(text, check_metal=False) == pytest.approx(links * one, rel=1e-3)


HINGE = """
spots edge: up 0 mm
casting base
  plate leaf: rectangle 15 x 10 mm, thick 1.2 mm, down 5.9 mm, inward 1.25 mm
  hinge half: at edge, in leaf, long 9 mm, pin-in
casting lid: tilt {open} deg
  plate lid-leaf: rectangle 15 x 10 mm, thick 1.2 mm, up 5.9 mm, inward 1.25 mm
  hinge other-half: at edge, in lid-leaf, long 9 mm, other
"""

BANGLE = """path wrist: inside 58 x 50 mm, outset 1.3 mm
path upper: beside wrist, stretch -25 % to 25 %
path lower: beside wrist, stretch 25 % to 75 %
casting top
  wire arch: along upper, {wire}
  hinge half: at pick(ends of lower, 1), in arch, pin-in
  box-clasp tongue: at pick(ends of lower, 2), in arch, tongue
casting under
  wire bow: along lower, {wire}
  hinge other-half: at pick(ends of lower, 1), in bow, other
  box-clasp box: at pick(ends of lower, 2), in bow
"""


def halves_of(text: str) -> list[Manifold]:
    """The metal of each casting of a piece, bought parts aside."""
    parts = [part for part in built(text, check_metal=False).parts if not part.bought]
    return [solid_of(one) for one in parts]


@pytest.mark.parametrize("wire", ["half-round 6 x 2.6 mm", "round 3 mm", "half-round 8 x 3 mm", "flat 5 x 2.6 mm"])
def test_a_bangle_opens_on_its_hinge_and_its_tongue_stands_free_in_the_box(wire: str) -> None:
    """The hinge's axis lies across the end of the path, at (30.3, 0, 0): the far half swings down, and stops shut."""
    top, under = halves_of(BANGLE.format(wire=wire))
    middle = np.array((30.3, 0.0, 0.0))
    meets = {
        turn: (top ^ under.translate(-middle).rotate((0, -turn, 0)).translate(middle)).volume()
        for turn in (-3, 0, 1, 5, 30, 60, 90)
    }
    assert meets[-3] > 1.0 and meets[1] > 0.05  # it stops shut, and the tongue holds until it is pressed
    assert [meets[turn] for turn in (0, 5, 30, 60, 90)] == pytest.approx([0] * 5, abs=1e-3)
    # In the box, 1 mm and more behind its mouth, the tongue stands free all round.
    inner = Manifold.cube((6, 12, 8), True).translate((-30.3, 0, -4.2))
    tongue, box = top ^ inner, under ^ inner
    assert tongue.volume() > 2 and 0.05 < tongue.min_gap(box, 1.0) < 0.15
    assert not {*codes(made("piece \"Bangle\"\n  metal gold-375-yellow\n" + BANGLE.format(wire=wire)))}


SMALL_ROUND = """path fore: inside {inside} mm, outset {out} mm, arc -90 deg to {at} deg
path aft: inside {inside} mm, outset {out} mm, arc {at} deg to 270 deg
casting upper
  wire front: along fore, {wire}
  hinge knuckles: at pick(ends of fore, 1), in front, outside 2.6 mm, pin-in
  box-clasp box: at pick(ends of fore, 2), in front, long {long} mm
casting lower
  wire rear: along aft, {wire}
  hinge between: at pick(ends of aft, 2), in rear, outside 2.6 mm, other
  box-clasp key: at pick(ends of aft, 1), in rear, tongue, long {long} mm
"""


@pytest.mark.parametrize(
    ("inside", "out", "wire", "long"), [("11", 0.8, "flat 4 x 1.6 mm", 4), ("46 x 40", 1.0, "half-round 5 x 2 mm", 6)]
)
def test_a_tongue_follows_the_swing_of_its_hinge_flush_within(inside: str, out: float, wire: str, long: int) -> None:
    """On its hinge the tongue leaves the box past the snap of its thumb; no corner stands inward of the wire."""
    front, rear = halves_of(SMALL_ROUND.format(inside=inside, out=out, at=90, wire=wire, long=long))
    radius = float(inside.split()[0]) / 2
    axle = np.array((-radius - out, 0.0, 0.0))
    meets = [
        (front ^ rear.translate(-axle).rotate((0, turn, 0)).translate(axle)).volume()
        for turn in (0, 2, 4, 6, 8, 10, 15, 30, 60, 90)
    ]
    assert meets[0] < 1e-4 and max(meets[4:]) < 1e-3
    within = Manifold.cube((radius - 0.1, 2, 1), True).translate((radius / 2, 0, 0))
    assert max((one ^ within).volume() for one in (front, rear)) < 1e-3


@pytest.mark.parametrize(("at", "long", "said"), [(150, 4, "does not lie along the arc"), (90, 6, "is long for so small a round")])
def test_a_tongue_that_jams_as_its_hinge_swings_is_told(at: int, long: int, said: str) -> None:
    told = made(SMALL_ROUND.format(inside="11", out=0.8, at=at, wire="flat 4 x 1.6 mm", long=long)).faults
    assert any(said in one.message for one in told)


def pressed(tongue: Manifold, fold: float, tip: float, above: float, by: float) -> Manifold:
    """A tongue whose thumb is pressed down: what lies over its strip is bent down from its fold on."""
    mesh = tongue.to_mesh64()
    points = np.array(mesh.vert_properties)[:, :3]
    spring = (points[:, 2] > above) & (points[:, 0] < 0.5)
    points[:, 2] -= np.where(spring, by * (points[:, 0] - fold) / (tip - fold), 0.0)
    return Manifold(Mesh64(points, np.array(mesh.tri_verts, np.uint64)))


@pytest.mark.parametrize(("long", "high", "wall", "spring"), [(9, 4, 0.8, 0.8), (9, 3, 0.6, 0.4), (6, 3.2, 0.8, 0.4)])
def test_a_box_clasp_holds_until_its_thumb_is_pressed(long: float, high: float, wall: float, spring: float) -> None:
    """Its thumb stands out of the box; pulled, the spring meets the lip, pressed down it comes out freely."""
    said = f"at shut, long {long} mm, high {high} mm, wall {wall} mm, spring {spring} mm"
    box, tongue = halves_of(
        f"spots shut: up 0 mm\ncasting box\n  box-clasp lock: {said}\ncasting key\n  box-clasp key: {said}, tongue\n"
    )
    room, low = 0.12, -high / 2
    assert (tongue ^ box).volume() < 1e-9 and tongue.bounding_box()[5] > box.bounding_box()[5] + 0.3
    assert (tongue.translate((0.4, 0, 0)) ^ box).volume() > 0.05
    by = 0.9 * (high - 2 * (wall + room + spring))  # till the spring all but lies on its strip
    loose = pressed(tongue, room + wall - long, -wall - room, low + wall + room + spring + 0.01, by)
    assert max((loose.translate((x, 0, 0)) ^ box).volume() for x in np.linspace(0, long, 30)) < 1e-6


@pytest.mark.parametrize("said", ["outside 2 mm", "long 4 mm"])
def test_a_hinge_that_cannot_open_is_told(said: str) -> None:
    bangle = BANGLE.format(wire="half-round 6 x 2.6 mm")
    (told, *_) = made(bangle.replace("pin-in", f"pin-in, {said}"), check_metal=False).faults
    assert told.code == "expectation" and "does not open" in told.message


@pytest.mark.parametrize("turn", [0, 45, 90, 135, 180])
def test_a_hinge_swings(turn: int) -> None:
    """From flat open to face on face, its two halves take no room from one another, and stay apart by
    0.05 mm at least."""
    halves = halves_of(HINGE.format(open=turn))
    assert len(halves) == 2
    assert (halves[0] ^ halves[1]).volume() == pytest.approx(0, abs=1e-9)
    assert halves[0].min_gap(halves[1], 1.0) > 0.05


def test_metal_above_never_makes_a_shank_weaker() -> None:
    """Section modulus of a rectangle b h^2 / 6 (Bronshtein and Semendyayev, from memory), with and
    without a thin fin on it."""
    from posy.compiler.judging.shanks import _section

    for fin in (0.0, 0.4, 2.0):
        corners = np.array([(8, -1), (10, -1), (10, -0.1), (10 + fin, -0.1), (10 + fin, 0.1), (10, 0.1), (10, 1), (8, 1.0)])
        found = _section(corners, np.roll(corners, -1, axis=0), 8.0)
        assert found is not None
        assert found[1] == pytest.approx(2 * 2**2 / 6, rel=1e-2)


def test_cathedral_arms_leave_the_shank_as_it_runs() -> None:
    text = (
        "band shank: finger us 7, wide 2.4 mm, thick 1.8 mm, profile d\n"
        "stone s: round 6 mm, gem diamond, on shank, level back, out 1 mm\n"
        "basket head: for s, on shank\ncathedral arms: for s, on shank, around 45 deg"
    )
    arch = laid(text, "arms.arch").look("path").lines[0]
    start = arch.points[1] - arch.points[0]
    tangent = np.array([-math.cos(math.radians(45)), 0.0, math.sin(math.radians(45))])
    assert start / np.linalg.norm(start) == pytest.approx(tangent, abs=0.02)


def test_a_band_stays_straight_to_its_shoulder() -> None:
    text = "band s: inside 17 mm, wide 4 mm, thick 2 mm, taper 2 x 1.4 mm, from 60 deg, toward d"
    face = laid(text, "s").surface
    assert face.shank.at(math.radians(59)) == (4, 2)
    assert face.shank.at(math.pi) == pytest.approx((2, 1.4))
    assert face.edge(0.0)[0] == pytest.approx(8.5 + 2 * 0.999)  # flat at the head
    assert face.edge(math.pi)[0] == pytest.approx(8.5 + 0.7)  # half its thickness at the back


@pytest.mark.parametrize("edge", [0.8, 1.4, 2.2])
def test_a_dome_is_as_high_as_its_edges_leave_it(edge: float) -> None:
    """A band of a rectangle and a circular segment above it, by Pappus and Guldinus."""
    inner, wide, thick = 8.5, 8.0, 2.8
    rise = thick - edge
    radius = (wide**2 / 4 + rise**2) / (2 * rise)
    half = math.asin(wide / 2 / radius)
    area = radius**2 * (half - math.sin(half) * math.cos(half))
    middle = 4 * radius * math.sin(half) ** 3 / (3 * (2 * half - math.sin(2 * half)))  # from the arc's centre
    segment = 2 * math.pi * area * (inner + thick - radius + middle)
    ring = math.pi * wide * ((inner + edge) ** 2 - inner**2)
    made = volume(f"band b: inside 17 mm, wide 8 mm, thick 2.8 mm, profile d, edge {edge} mm")
    assert made == pytest.approx(ring + segment, rel=1e-3)
    tapered = laid(f"band b: inside 17 mm, wide 8 mm, thick 2.8 mm, profile d, edge {edge} mm, taper 3 x 2 mm", "b")
    assert tapered.surface.edge(0.0)[0] == pytest.approx(inner + edge)
    assert tapered.surface.edge(math.pi)[0] == pytest.approx(inner + 2.0 * edge / thick)


def test_the_flank_of_a_signet_sweeps() -> None:
    """It leaves its shank as the shank runs, and stands steeper under the table than a straight flank."""
    from posy.compiler.shapes.signet import Table, _flank, foot

    made = Table(("ellipse", 12.0, 14.0), 12.5, 10.5, 5.0)
    start, near = np.array(foot(made)), np.array(_flank(made, 1e-4))
    square = (near - start) @ start / np.linalg.norm(near - start) / np.linalg.norm(start)
    assert square == pytest.approx(0, abs=1e-3)
    end, below = np.array(_flank(made, 1.0)), np.array(_flank(made, 1 - 1e-4))
    straight = end - start
    assert end == pytest.approx((6, 12.5))
    assert abs((end - below)[0] / (end - below)[1]) < abs(straight[0] / straight[1])


@pytest.mark.parametrize("size", ["16 x 18", "8 x 10"])
def test_the_shoulders_of_a_signet_lie_on_its_metal(size: str) -> None:
    """On the flank where it comes so far down, else on the shank. Reference: trimesh's nearest point."""
    line = f"signet s: finger us 10, oval {size} mm, height 2.8 mm, wide 9 mm, thick 2.2 mm, taper 5 x 1.8 mm"
    (part,) = built(line).parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    for frame in laid(line, "s").offers["shoulders"]().frames:
        near = trimesh.triangles.closest_point(mesh.triangles, np.tile(frame[:, 3], (len(mesh.faces), 1)))
        apart = np.linalg.norm(near - frame[:, 3], axis=1)
        assert apart.min() < 0.02
        assert mesh.face_normals[apart.argmin()] @ frame[:, 2] > 0.999
        assert math.atan2(abs(frame[0, 3]), frame[2, 3]) == pytest.approx(math.pi / 4, abs=0.01)


def test_a_bead_drilled_through_weighs_less() -> None:
    """What is left of a ball round a hole is 4/3 pi (R2 - r2)^1.5 (the ring of a napkin, from memory)."""
    whole, drilled = (
        built(f"disc d: across 4 mm, thick 1 mm, down 9 mm\nstone b: pearl 8 mm, gem pearl{hole}").stones[0]
        for hole in ("", ", drilled 1 mm")
    )
    left = (4**2 - 0.5**2) ** 1.5 / 4**3
    assert drilled.carats_volume / whole.carats_volume == pytest.approx(left)


@pytest.mark.parametrize(("cut", "area"), [("", math.pi / 4), (", vee", 3 * math.sqrt(3) / 4 * 0.65**2)])
def test_cuts_from_both_sides_take_their_section(cut: str, area: float) -> None:
    """A circle of 1 mm, or a triangle of equal sides in a circle of 1.3 mm, 0.5 mm deep from either side."""
    bar = "bar b: size 8 x 4 x 6 mm\nstone s: round 2 mm, gem ruby, at face of b, out 1 mm\n"
    arches = f"u-cut c: for s, in b, wide 4 mm, across 1 mm, below 3 mm, deep 0.5 mm{cut}"
    gone = volume(bar, check_metal=False) - volume(bar + arches, check_metal=False)
    assert gone == pytest.approx(2 * 0.5 * area, rel=2e-3)


@pytest.mark.parametrize(("path", "length"), [
    ("path way: through (0, 0) to (40, 0 mm)", 40.0), ("path way: round 40 mm", 40.0 * math.pi),
])  # fmt: skip
def test_square_wire_twisted_about_itself(path: str, length: float) -> None:
    """Its volume is its section times the length of its middle (Pappus), however it winds; its edges reach as
    far out as they do untwisted: a square of 3 mm, its edges eased by a tenth of that (elementary geometry)."""
    wire, eased = 3.0, 0.3
    text = f"{path}\ntwist rope: along way, wire 3 mm, square, pitch 12 mm"
    area = wire**2 - (4 - math.pi) * eased**2
    assert volume(text, check_metal=False) == pytest.approx(area * length, rel=2e-3)
    points = np.concatenate([part.points for part in built(text, check_metal=False).parts])
    out = wire / math.sqrt(2) - eased * (math.sqrt(2) - 1)
    assert points[:, 2].max() == pytest.approx(out, abs=0.02) and points[:, 2].min() == pytest.approx(-out, abs=0.02)


def test_each_half_of_a_bangle_told_at_the_ends_of_its_own_wire_fits_the_other() -> None:
    """The tongue then stands in the box as where both are told at one end of one path."""
    wire = "half-round 6 x 2.6 mm"
    both = BANGLE.format(wire=wire)
    own = both.replace("pick(ends of lower, 2), in arch, tongue", "pick(ends of upper, 1), in arch, tongue")
    assert own != both
    (top, under), (top_own, under_own) = halves_of(both), halves_of(own)
    assert (top ^ top_own).volume() == pytest.approx(top.volume(), rel=1e-6) == pytest.approx(top_own.volume(), rel=1e-6)
    assert under.volume() == pytest.approx(under_own.volume()) and (top_own ^ under_own).volume() == pytest.approx(0, abs=1e-3)


def test_half_of_a_hinged_bangle_is_no_slender_wire() -> None:
    text = SMALL_ROUND.format(inside="46 x 40", out=1.0, at=90, wire="half-round 5 x 2 mm", long=6)
    assert "slender" not in codes(made('piece "Bangle"\n  metal silver-925\n' + text))
