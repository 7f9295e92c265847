"""Findings stand outward from the metal at whatever kind of place they are put, by name or by a spot."""

from __future__ import annotations

import numpy as np
import pytest
from texts import codes, laid, made

from posy.lang.faults import Level

HOSTS = {
    "disc": "disc m: across 12 mm, thick 2 mm",
    "ball": "ball m: across 8 mm",
    "acorn": "turned m: hollow, through (4.5, 0) over (4.1, 2.6) to (0.9, 4) to (0.7, 6) to (0, 6) to (0, 3) over (2.6, 2.2) to (3.6, 0 mm)",
    "band": "band m: finger us 7, wide 4 mm, thick 2 mm",
    "rod": "rod m: wire 3 mm, long 12 mm",
    "wire": "path way: through (-8, 0) to (8, 0 mm)\nwire m: along way, round 2.4 mm",
    # The beads stand nearer to its ends than its own metal reaches before and behind them.
    "beaded": "stone d: cabochon 10 x 14 mm, gem moonstone\nbezel m: for d, blind, wall 0.7 mm\n"
    "bead-line b: along waist of m, bead 0.7 mm, outset 0.3 mm",
}
# Of each kind of place that a page offers, the way (x, y, z) that leads out of the metal there.
OUT, BACK, UP, RIGHT = (0, 0, 1), (0, 0, -1), (0, 1, 0), (1, 0, 0)
PLACES = [
    ("disc", "face of m", OUT), ("disc", "back of m", BACK), ("disc", "top of m", UP), ("disc", "right of m", RIGHT),
    ("ball", "face of m", OUT), ("ball", "top of m", UP), ("ball", "(0, 0, 8 mm)", OUT),
    ("ball", "s", (0.5, 0, 0.75**0.5)), ("acorn", "tip of m", OUT), ("rod", "foot of m", BACK), ("band", "top of m", OUT), ("wire", "pick(ends of way, 2)", RIGHT),
    ("wire", "middle of way", OUT), ("disc", "t", UP), ("disc", "u", UP),
    ("beaded", "top of m", UP), ("beaded", "right of m", RIGHT),
]  # fmt: skip
SPOTS = {
    "s": "spots s: on m, right 2 mm",
    # The same spot on the edge, looking out by its own right, and by its own out.
    "t": "spots t: up 6 mm, out 1 mm, turn 90 deg",
    "u": "spots u: up 6 mm, out 1 mm, tilt -90 deg",
}
# How far each stands from its place, mm: its loop or length less what is sunk in.
FINDINGS = {
    "bail f: at {}, wire 1 mm, inside 4 mm": 5.4,
    "tapered-bail f: at {}, inside 5 mm, thick 1 mm": 6.35,
    "hidden-bail f: at {}, wire 1 mm, inside 4 mm": 5.4,
    "ear-post f: at {}, long 10 mm": 10.0,
    "pin-stem f: at {}, long 20 mm": 20.0,
}


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda text: text.split()[0])
@pytest.mark.parametrize(("host", "place", "way"), PLACES)
def test_it_stands_outward_and_its_loop_is_free(finding: str, host: str, place: str, way: tuple[float, ...]) -> None:
    text = "\n".join(part for part in (HOSTS[host], SPOTS.get(place, ""), finding.format(place)) if part)
    piece = made(text, tolerance=0.05)
    deep = 1.2 if place == "middle of way" else 0.0  # it is in the middle of its wire
    spot = laid(f"{HOSTS[host]}\n{SPOTS.get(place, '')}\nspots z: at {place}", "z").frames[0, :, 3]
    far = (np.concatenate([part.points for part in piece.parts]) - spot) @ np.array(way)
    assert far.max() == pytest.approx(FINDINGS[finding], abs=0.03)
    told = {*codes(piece), *codes(piece, Level.WARNING)}
    assert not told & {"loose-piece", "weak-joint"}
    assert "blocked-loop" not in told or deep


@pytest.mark.parametrize("place", ["centre of d", "back of cup"])
def test_a_post_behind_a_setting_points_backward_from_either_side_of_it(place: str) -> None:
    text = f"stone d: round 5 mm, gem garnet\nbasket cup: for d\near-post f: at {place}, behind cup"
    piece = made(text.replace("centre of d", "centres of d"), tolerance=0.05)
    assert min(part.points[:, 2].min() for part in piece.parts) < -10.0
    assert not {"stone-in-metal", "finding-in-front"} & {*codes(piece), *codes(piece, Level.WARNING)}


@pytest.mark.parametrize("host", ["cone", "tube"])
def test_a_joint_that_cannot_be_sound_is_told(host: str) -> None:
    """A point, and the hole of a tube."""
    text = {"cone": "turned m: through (4, 0) to (0, 8 mm)", "tube": "tube m: outside 6 mm, inside 4 mm, long 9 mm"}[host]
    piece = made(f"{text}\nbail f: at {'tip' if host == 'cone' else 'face'} of m, wire 1 mm, inside 4 mm")
    assert {*codes(piece), *codes(piece, Level.WARNING)} & {"loose-piece", "weak-joint"}


@pytest.mark.parametrize("right", [0.5, 2.0, 3.9])
@pytest.mark.parametrize("body", ["ball m: across 8 mm", "turned m: through (0, 0) over (4, 4) to (0, 8 mm)"])
def test_a_place_on_a_ball_lies_on_its_upper_half(body: str, right: float) -> None:
    """Radius 4 about (0, 0, 4): closed form."""
    frame = laid(f"{body}\nspots s: on m, right {right} mm", "s").frames[0]
    assert frame[:, 3] == pytest.approx((right, 0, 4 + (16 - right**2) ** 0.5), abs=2e-3)
    assert frame[:, 2] == pytest.approx((frame[:, 3] - (0, 0, 4)) / 4, abs=5e-3)


def test_what_stands_on_a_cone_looks_square_off_its_side() -> None:
    frame = laid("turned m: through (4, 0) to (0, 8 mm)\nspots s: on m, right 1 mm", "s").frames[0]
    assert frame[:, 3] == pytest.approx((1, 0, 6))
    assert frame[:, 2] == pytest.approx(np.array((2, 0, 1)) / 5**0.5, abs=1e-6)


HEADS = ["basket h: for s, double", "collet h: for s", "bezel h: for s", "halo h: for s, gem diamond\nbasket k: for s"]


@pytest.mark.parametrize("head", HEADS, ids=lambda text: text.split()[0])
@pytest.mark.parametrize("stone", ["emerald 10 x 14 mm", "round 7 mm", "princess 6 mm"])
@pytest.mark.parametrize("bail", ["bail", "tapered-bail"])
def test_a_head_hangs_from_its_rim_or_rail_and_the_stone_is_clear(bail: str, stone: str, head: str) -> None:
    if "collet" in head and "round" not in stone:
        return
    piece = made(f"stone s: {stone}, gem garnet\n{head}\n{bail} f: at top of h")
    assert not {*codes(piece), *codes(piece, Level.WARNING)} & {"stone-in-metal", "weak-joint", "loose-piece", "blocked-loop"}


def test_a_strap_on_a_plate_stands_on_no_stem() -> None:
    """Set with a stone or not, its end is beyond the girdle."""
    plate, bail = "disc m: across 12 mm, thick 2 mm\n", "tapered-bail f: at top of m, inside 5 mm, thick 1 mm"
    high = [
        max(part.points[:, 1].max() for part in made(f"{plate}{stone}{bail}", tolerance=0.05, check_metal=False).parts)
        for stone in ("", "stone s: round 6 mm, gem garnet, on m\nflush f0: for s, in m\n")
    ]
    assert high == pytest.approx([12.35, 12.35], abs=0.02)


def test_stones_go_down_the_front_of_a_strap() -> None:
    text = (
        "stone main: emerald 10 x 14 mm, gem citrine\nbasket head: for main, double\n"
        "tapered-bail hanger: at top of head, inside 5 mm, wide 3.6 mm\n"
        "stone small: round 1.3 mm, gem diamond, along front of hanger, number 3, gap 0.15 mm\n"
        "bead-set grains: for small, in hanger"
    )
    piece = made(text)
    assert not codes(piece) and not codes(piece, Level.WARNING)
    assert (laid(text, "small").frames[:, 2, 2] > 0.3).all()  # toward whoever looks at it


WREATH = (
    "path stem: through (0.4, -11.8) over (11.8, 0) to (2.5, 11.5 mm)\nwire branch: along stem, round 1.4 mm\n"
    "plate leaves: marquise 5 x 2 mm, thick 1 mm, along stem, number 9, swivel 35 deg\n"
    "mirror other: of branch\nmirror more: of leaves\n"
)


@pytest.mark.parametrize("up", [-6, 0, 3, 7])
def test_a_pin_reaches_from_wire_to_wire_of_an_openwork_back(up: int) -> None:
    """The joint and the catch stand on the ring's wire, 11.8 mm from its middle, behind its leaves; the pin as long as
    lies between."""
    piece = made(f"{WREATH}brooch-pin pin: at back of branch, on branch + other, up {up} mm")
    assert not codes(piece) and "weak-joint" not in codes(piece, Level.WARNING)
    pin = next(part for part in piece.parts if part.bought and np.ptp(part.points[:, 0]) > 5)
    assert np.ptp(pin.points[:, 0]) == pytest.approx(2 * (11.8**2 - up**2) ** 0.5 + 1.6, abs=3.2)


@pytest.mark.parametrize(
    "text",
    [
        *(f"plate m: crescent 30 x 6.5 mm, upright, thick 1.8 mm\nbrooch-pin pin: at back of m, up {up} mm" for up in (0, 2, 4, 6)),
        "path e: heart 28 x 26 mm, upright, inset 1 mm\nwire m: along e, flat 3 x 1.6 mm\nbrooch-pin pin: at back of m, up 4 mm",
        "path e: heart 28 x 26 mm, upright, inset 1 mm\nwire m: along e, flat 3 x 1.6 mm\nbrooch-pin pin: at back of m, up 4 mm, turn 180 deg",
    ],
)  # fmt: skip
def test_a_pin_stands_where_the_metal_is_as_wide_as_its_feet(text: str) -> None:
    """On slim metal that runs aslant no foot is seen past the edge, and both are joined soundly."""
    piece = made(text)
    assert not codes(piece) and not {"weak-joint", "finding-over-edge"} & {*codes(piece, Level.WARNING)}


def test_a_pin_stays_within_the_edge_of_a_plate() -> None:
    """Its joint, 2.7 mm wide, is not seen from the front."""
    piece = made("disc m: across 24 mm, thick 1.4 mm\nbrooch-pin pin: at back of m, on m, up 3 mm")
    assert not codes(piece)
    cast = np.concatenate([part.points for part in piece.parts if not part.bought])
    assert np.hypot(cast[:, 0], cast[:, 1]).max() <= 12.01


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("brooch-pin pin: at back of branch, up 3 mm", "seen past the edge"),
        ("brooch-pin pin: at back of branch, long 12 mm, on branch + other, up 3 mm", "pin is not joined"),
        ("brooch-pin pin: at back of branch, on branch + other, up 30 mm", "no metal at this height"),
        ("brooch-pin pin: at back of branch, on leaves, up 3 mm, turn 90 deg", ""),
    ],
)
def test_a_pin_beside_the_metal_is_told(said: str, told: str) -> None:
    assert told in " ".join(fault.message for fault in made(WREATH + said).faults)


def test_pearls_among_leaves_stand_on_what_lies_below_them() -> None:
    row = "stone pearls: pearl 2.5 mm, gem pearl, along stem, stretch 10 % to 90 %, number 4, out {} mm\n"
    cups = "pearl-cup cups: for pearls, on branch + leaves"
    for high in (2.4, 2.6, 4):
        assert not codes(made(WREATH + row.format(high) + cups)), high
    assert "loose-piece" in codes(made(WREATH + row.format(4) + "pearl-cup cups: for pearls"))
    beside = row.format(2.6).replace("number 4", "number 4, right 5 mm")
    assert {*codes(made(WREATH + beside + cups))} & {"no-places", "expectation"}


def test_the_joint_and_catch_of_a_brooch_pin_are_not_slender():
    """The catch is a strip of 0.9 x 1.8 mm bent to a hook of 3 mm: what is free of it past the pin is as thick
    as all of it (elementary geometry)."""
    plate = "plate wing: oval 18 x 22 mm, thick 1.2 mm\nbrooch-pin back: at back of wing, long 16 mm, up 2 mm\n"
    assert "slender" not in codes(made(plate), Level.HINT) + codes(made(plate), Level.WARNING)


def test_what_reaches_into_a_stone_is_told_by_its_own_volume():
    """Two rods across the girdle, each 1.3 mm in, one 1 mm and one 2 mm thick: the second takes about four
    times as much of the stone."""
    text = "stone s: cabochon 18 x 13 mm, gem jade\n"
    text += "".join(
        f"path {w}: through ({x}, 0, 1) to ({x * 2}, 0, 1 mm)\nwire rod-{w}: along {w}, round {wire} mm\n"
        for w, x, wire in (("one", 7.5, 1), ("two", -7.5, 2))
    )
    told = {fault.message.split()[0]: fault.seen for fault in made(text).faults if fault.code == "stone-in-metal"}
    volumes = [float(told[name].split(", ")[1].split(" mm3")[0]) for name in ("rod-one", "rod-two")]
    assert volumes[1] / volumes[0] == pytest.approx(4, rel=0.25)


@pytest.mark.parametrize("cut", ["round 5 mm, gem ruby", "oval 6 x 4 mm, gem sapphire", "cabochon 5 mm, gem jade"])
def test_a_cup_on_the_middle_of_wire_stands_on_it_as_the_remedy_says(cut):
    """Put there, the stone lies in the wire; raised by its back as told, and its cup closed below as told
    then, nothing is left to tell."""
    stem = "path mid: through (0, -22) over (-1, 0) to (2, 18 mm)\nwire stem: along mid, round 1.6 mm\n"
    text = stem + f"stone bud: {cut}, at middle of stem\nbezel cup: for bud, on stem\n"
    (fault,) = [one for one in made(text).faults if one.code == "no-places"]
    clause = fault.remedy.split("'")[1]
    assert clause.startswith("level back, out ")
    raised = text.replace("middle of stem\n", f"middle of stem, {clause}\n")
    told = [one for one in made(raised).faults if one.level is not Level.HINT]
    assert all("say 'blind'" in one.remedy for one in told)
    closed = made(raised.replace("for bud, on stem", "for bud, on stem, blind"))
    assert [one.code for one in closed.faults if one.level is not Level.HINT] == []
ALONG = {"top": 0, "bottom": 0, "right": 1, "left": 1, "ends": 1}  # the axis of the edge there


@pytest.mark.parametrize("finding", ["bail f: wire 1 mm, inside 2 mm", "jump-ring f: wire 1 mm, inside 2 mm", "ear-post f: long 10 mm"])
@pytest.mark.parametrize("place", ALONG)
def test_a_row_of_findings_at_an_end_runs_along_the_edge(place: str, finding: str) -> None:
    bar, row = "bar m: size 30 x 30 x 2 mm", f"{finding}, at {place} of m, row 3, every 6 mm"
    text, name = f"{bar}\n{finding}, at {place} of m", {"b": "f.loop", "j": "f", "e": "f.stem"}[finding[0]]
    one, three, begun = (laid(more, name).frames for more in (text, f"{bar}\n{row}", f"{bar}\n{row}, anchor 1"))
    steps = 6 * np.eye(3)[ALONG[place]] * np.arange(3)[:, None]
    for middle, some, first in zip(one, np.split(three, len(one)), np.split(begun, len(one)), strict=True):
        assert some[:, :, 3] == pytest.approx(middle[:, 3] + steps - steps[1])
        assert first[:, :, 3] == pytest.approx(middle[:, 3] + steps)  # from the left, or from below
        assert some[:, :, :3] == pytest.approx(np.stack([middle[:, :3]] * 3))


def test_a_row_on_a_face_and_of_other_metal_goes_to_the_right_of_its_place() -> None:
    bar = "bar m: size 30 x 20 x 2 mm\n"
    post = laid(bar + "ear-post f: at back of m, row 2, every 6 mm, long 10 mm", "f.stem").frames
    assert np.ptp(post[:, :, 3], axis=0) == pytest.approx([6, 0, 0])
    balls = laid(bar + "ball b: at bottom of m, row 2, every 2 mm, across 2.2 mm", "b").frames
    assert np.ptp(balls[:, :, 3], axis=0) == pytest.approx([0, 2, 0])


def test_a_copy_at_another_place_stands_there_as_the_first_at_its_own() -> None:
    """Seen back from the place each stands at, all stand alike: elementary geometry."""
    text = (
        "bar ground: size 50 x 30 x 1 mm\nspots a: right 10 mm, turn 20 deg\nspots b: left 10 mm, turn 75 deg\n"
        "plate leaf: pear 12 x 5 mm, thick 1 mm, at a, right 2 mm, out 0.8 mm, set-by left\ncopy second: of leaf, at b\n"
    )
    places = {name: laid(text, name).frames[0] for name in ("a", "b")}
    first, second = (np.vstack((laid(text, name).places().frames[0], (0, 0, 0, 1))) for name in ("leaf", "second"))
    a, b = (np.vstack((places[name], (0, 0, 0, 1))) for name in ("a", "b"))
    assert np.linalg.inv(a) @ first == pytest.approx(np.linalg.inv(b) @ second, abs=1e-6)
