"""Words of the drawer against closed forms and the kernel: outlines that add, strokes, links, a hinge that
swings, heads that find their shank.

Formulas: circular segment, torus, cylinder (Bronshtein and Semendyayev, Handbook of Mathematics, from
memory). Figures of findings: common practice, no source."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import built, laid, volume


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
    link, wide = 5 * wire, 3.6 * wire
    bends = math.pi * (wide - wire)
    one = math.pi / 4 * wire**2 * (bends + 2 * (link - wide))
    text = "path l: through (0, 0) to (28, 0 mm)\nchain c: along l, wire 1 mm"
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


@pytest.mark.parametrize("turn", [0, 45, 90, 135, 180])
def test_a_hinge_swings(turn: int) -> None:
    """From flat open to face on face, its two halves take no room from one another, and stay apart by
    0.05 mm at least."""
    from manifold3d import Manifold, Mesh64

    halves = [
        Manifold(Mesh64(np.array(part.points), part.triangles.astype(np.uint64)))
        for part in built(HINGE.format(open=turn), check_metal=False).parts
        if part.casting in ("base", "lid")
    ]
    assert len(halves) == 2
    assert (halves[0] ^ halves[1]).volume() == pytest.approx(0, abs=1e-9)
    assert halves[0].min_gap(halves[1], 1.0) > 0.05


@pytest.mark.parametrize(
    ("stone", "head"),
    [
        ("round 6.5 mm", "basket head: for s, on shank, count 6"),
        ("oval 8 x 6 mm", "basket head: for s, on shank"),
        ("cushion 6 x 6 mm", "bezel head: for s, on shank"),
        ("round 5 mm", "collet head: for s, on shank"),
    ],
)
@pytest.mark.parametrize(
    "shank",
    [
        "band shank: finger us 7, wide 2 mm, thick 1.9 mm, profile d",
        "band shank: finger us 7, wide 3.4 mm, thick 2 mm, profile court, taper 2.2 x 1.8 mm",
        "band shank: finger us 7, wide 6 mm, thick 2.6 mm, profile d, comfort",
        "band shank: finger us 7, wide 3 mm, thick 2.3 mm, profile knife-edge",
        "split-shank shank: finger us 7, wide 3.6 mm, thick 1.9 mm, gap 2.4 mm",
        "path way: finger us 7, outset 1 mm\nwire shank: along way, round 2 mm",
    ],
)
def test_a_head_finds_its_shank(stone: str, head: str, shank: str) -> None:
    """Its culet clears, it is one with the shank by a sound joint, and nothing stands in the finger hole."""
    text = f"{shank}\nstone s: {stone}, gem diamond, on shank, level back, out 0.15 mm\n{head}"
    made = built(text)
    codes = {fault.code for fault in made.faults}
    assert not codes & {
        "weak-joint", "loose-piece", "stone-in-metal", "blocked-bore", "culet-through", "unset-stone", "blind-seat"
    }, codes


@pytest.mark.parametrize("out", [-0.3, 0.4, 1.2, 2.0])
def test_a_bezel_lets_its_stone_into_the_shank(out: float) -> None:
    """As deep as it stands; its light hole is open from flush with the shank to clear of it."""
    text = (
        "band shank: finger us 7, wide 5 mm, thick 2.6 mm, profile d\n"
        f"stone s: round 3.5 mm, gem sapphire, on shank, out {out} mm\nbezel head: for s, on shank"
    )
    assert not {fault.code for fault in built(text).faults if fault.level.value != "hint"}


def test_a_stone_lies_on_a_ring_of_wire() -> None:
    """On a torus: as far from the middle of the wire as the wire is thick, and looking away from it."""
    text = "path way: finger us 7, outset 1 mm\nwire w: along way, round 2 mm\nstone s: round 1 mm, gem ruby, on w"
    ring = laid(text, "way").look("path").lines[0]
    radius = float(np.hypot(ring.points[:, 0], ring.points[:, 2]).max())
    for around, up in ((0, 0.0), (35, 0.6), (-140, -0.8), (180, 0.3)):
        frame = laid(f"{text}, around {around} deg, up {up} mm", "s").frames[0]
        angle = math.radians(around)
        middle = radius * np.array([math.sin(angle), 0.0, math.cos(angle)])
        assert np.linalg.norm(frame[:, 3] - middle) == pytest.approx(1.0, abs=2e-3)
        assert frame[:, 3][1] == pytest.approx(up, abs=1e-6)
        assert frame[:, 2] == pytest.approx(frame[:, 3] - middle, abs=0.02)


def test_a_row_stays_on_a_wire_that_narrows() -> None:
    """Rows of a cuff go as far as it is wide enough for them; none hangs over its edge."""
    text = (
        "path way: inside 58 x 48 mm, open 27 mm, outset 1 mm\n"
        "wire cuff: along way, flat 8 x 2.4 mm, taper 4 mm to 8 mm to 4 mm\n"
        "stone f: round 1 mm, gem ruby, upon cuff, every 1.2 mm, inset 0.6 mm"
    )
    frames = laid(text, "f").frames
    round_ = np.degrees(np.arctan2(frames[:, 0, 3], frames[:, 2, 3]))
    wide = {turn: np.ptp(frames[np.abs(np.abs(round_) - turn) < 6, 1, 3]) for turn in (3, 80, 120)}
    assert 6.8 >= wide[3] > wide[80] > wide[120]
    assert wide[120] <= 4.9 - 1.2


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


SET = """
band shank: finger us 7, wide 2.6 mm, thick 2 mm
stone s: round 6 mm, gem diamond, on shank, level back, out 0.4 mm
basket head: for s, on shank, count 4
stone row: round 1.6 mm, gem diamond, on shank, around 60 deg, row 3, gap 0.2 mm, out 0.1 mm
bead-set pave: for row, in shank
"""


def test_finished_prongs_lie_over_their_stones() -> None:
    """As cast they stand far above the table; set, no higher than its crown, and over the girdle."""
    cast, finished = (
        np.concatenate([part.points for part in built(SET, check_metal=False, finished=way).parts])
        for way in (False, True)
    )
    stone = laid(SET, "s")
    table = float(stone.frames[0, 2, 3]) + stone.stones[0].crown()
    assert cast[:, 2].max() > table + 0.3
    assert finished[:, 2].max() < table + 0.2
    girdle = float(stone.frames[0, 2, 3])
    tips = finished[finished[:, 2] > girdle + 0.4]
    assert np.hypot(tips[:, 0], tips[:, 1]).min() < 2.7  # of 3 mm


def test_finished_changes_no_weight() -> None:
    """The picture alone: what is weighed and judged is as cast."""
    assert built(SET).parts[0].volume == built(SET, check_metal=False).parts[0].volume


def test_a_bead_drilled_through_weighs_less() -> None:
    """What is left of a ball round a hole is 4/3 pi (R2 - r2)^1.5 (the ring of a napkin, from memory)."""
    whole, drilled = (
        built(f"disc d: across 4 mm, thick 1 mm, down 9 mm\nstone b: pearl 8 mm, gem pearl{hole}").stones[0]
        for hole in ("", ", drilled 1 mm")
    )
    left = (4**2 - 0.5**2) ** 1.5 / 4**3
    assert drilled.carats_volume / whole.carats_volume == pytest.approx(left)


@pytest.mark.parametrize("side", ["round 3.5 mm", "tapered-baguette 4 x 2.6 x 1.8 mm", "pear 5 x 3 mm"])
def test_two_stones_stand_beside_one(side: str) -> None:
    """Seen from above, by the spots of their girdles: as far from it
    as the line says, right and left, the left one turned half round."""
    text = (
        "band shank: finger us 6, wide 3 mm, thick 2 mm, profile d\n"
        "stone c: emerald 7 x 5 mm, gem ruby, on shank, level back, out 1 mm, swivel 90 deg\n"
        f"stone s: {side}, gem ruby, on shank, next-to c, gap 0.8 mm, level back, out 1 mm"
    )
    middle, sides = laid(text, "c"), laid(text, "s")
    assert len(sides.frames) == 2
    rims = []
    for feature in (middle, sides):
        for frame, line in zip(feature.frames, feature.look("girdle").lines, strict=True):
            rims.append((frame, line.fine(0.02).points[:, :2]))
    home = rims[0][1]
    for _, rim in rims[1:]:
        near = np.linalg.norm(home[:, None] - rim[None], axis=2).min()
        assert near == pytest.approx(0.8, abs=0.01)
    right, left = (frame for frame, _ in rims[1:])
    assert right[:, 3] == pytest.approx(left[:, 3] * (-1, 1, 1), abs=1e-3)
    assert right[:, 0] @ (1, 0, 0) > 0 > left[:, 0] @ (1, 0, 0)


def test_the_top_of_a_swivelled_halo_is_above() -> None:
    text = (
        "stone c: oval 8 x 6 mm, gem ruby, swivel 90 deg\nbasket head: for c\n"
        "halo ring: for c, gem diamond\nspots there: at {} of ring"
    )
    assert laid(text.format("top"), "there").frames[0][:, 0] == pytest.approx((0, 1, 0), abs=1e-9)
    assert laid(text.format("back"), "there").frames[0][:, 1] == pytest.approx((0, 1, 0), abs=1e-9)


def test_a_scalloped_tray_goes_round_each_stone() -> None:
    """Circles round the small stones: over each of them the tray reaches its rim, between two of them as far
    as two such circles meet (elementary geometry)."""
    across, rim, room = 1.4, 0.45, 0.6
    text = (
        "stone c: round 6 mm, gem ruby\nbezel cup: for c, wall 0.5 mm\n"
        f"halo h: for c, gem diamond, across {across} mm, rim {rim} mm, room {room} mm, scalloped, drop 1.5 mm"
    )
    small = laid(text, "h.tray.small").frames[:, :2, 3]
    (part,) = built(text, tolerance=0.002).parts
    points = np.array(part.points)
    tray = points[np.abs(points[:, 2] + 2.3) < 0.85]
    turn, far = np.arctan2(tray[:, 1], tray[:, 0]), np.hypot(tray[:, 0], tray[:, 1])
    middle, lobe = 3 + room + across / 2, across / 2 + rim
    half = math.pi / len(small)
    meet = middle * math.cos(half) + math.sqrt(lobe**2 - (middle * math.sin(half)) ** 2)

    def reach(angle: float) -> float:
        return float(far[np.abs((turn - angle + math.pi) % (2 * math.pi) - math.pi) < 0.006].max())

    first = math.atan2(small[0, 1], small[0, 0])
    assert reach(first) == pytest.approx(middle + lobe, abs=0.01)
    assert reach(first + half) == pytest.approx(meet, abs=0.06)


@pytest.mark.parametrize(("cut", "area"), [("", math.pi / 4), (", vee", 3 * math.sqrt(3) / 4 * 0.65**2)])
def test_cuts_from_both_sides_take_their_section(cut: str, area: float) -> None:
    """A circle of 1 mm, or a triangle of equal sides in a circle of 1.3 mm, 0.5 mm deep from either side."""
    bar = "bar b: size 8 x 4 x 6 mm\nstone s: round 2 mm, gem ruby, at face of b, out 1 mm\n"
    arches = f"u-cut c: for s, in b, wide 4 mm, across 1 mm, below 3 mm, deep 0.5 mm{cut}"
    gone = volume(bar, check_metal=False) - volume(bar + arches, check_metal=False)
    assert gone == pytest.approx(2 * 0.5 * area, rel=2e-3)
