"""Heads on shanks and stones once they are set: figures reckoned by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import built, laid


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
