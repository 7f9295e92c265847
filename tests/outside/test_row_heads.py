"""Half hoops and eternity rings with claws that neighbours share: whatever the stones, light comes through
under each of them, nothing stands into the finger, the metal is one, and the rules find nothing.

Measured on the finished triangles by plain rays (Moller and Trumbore 1997) and the kernel's own parts."""

from __future__ import annotations

import random

import numpy as np
import pytest
from test_set_in_metal import corners, met
from texts import built, solid_of

from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.lang.faults import Level
from posy.lang.loader import Texts

US_6 = 16.51  # mm inside: ISO 8653 tables and most sizers agree on 16.5 mm


def _half_hoop(seed: int) -> str:
    r = random.Random(f"half hoop {seed}")
    count = (3, 5, 7)[seed % 3]
    small = {3: r.uniform(2.6, 4), 5: r.uniform(2.2, 3), 7: r.uniform(2, 2.6)}[count]
    large = small * (1 if seed % 2 else r.uniform(1.05, 1.3))
    cut = ("round", "oval", "cushion")[seed // 2 % 3]
    swivel = ""
    if cut == "round":
        size = f"{small:.2f} mm to {large:.2f} mm to {small:.2f} mm"
    elif cut == "oval":
        size, swivel = " to ".join(f"{1.25 * a:.2f} x {a:.2f} mm" for a in (small, large, small)), ", swivel 90 deg"
    else:
        size = " to ".join(f"{a:.2f} x {a:.2f} mm" for a in (small, large, small))
    profile, wide = r.choice(["flat", "d", "court", "half-round"]), r.uniform(2, 2.8)
    return (
        f"band shank: finger us 6, wide {wide:.2f} mm, thick {r.uniform(1.8, 2.2):.2f} mm, profile {profile}\n"
        f"stone row: {cut} {size}, gem diamond, along around of shank, number {count}, "
        f"gap {r.uniform(0.12, 0.25):.2f} mm, level back, out {r.uniform(0.4, 0.8):.2f} mm{swivel}\n"
        "basket head: for row, shared, on shank\n"
    )


def _made(lines: str) -> Built:
    made = build("p.posy", files=Texts({"p.posy": f'piece "Row"\n  metal gold-750-yellow\n{lines}'}))
    wrong = [f"{f.code}: {f.message} {f.seen}" for f in made.faults if f.level.value != "hint"]
    assert made.parts and not wrong, (lines, wrong)
    return made


def _held_open(made: Built, lines: str) -> None:
    metal = corners(made)
    (part,) = made.parts
    assert len(solid_of(part).decompose()) == 1
    for stone in made.stones:
        up, home = stone.frame[:, 2], stone.frame[:, 3]
        below = met(metal, home + 1e-3 * stone.frame[:, 0], -up)
        assert not ((below > 0) & (below < 9.0)).any(), lines
        assert not (met(metal, home + 1e-3 * stone.frame[:, 0], up) > 0).any(), lines
    assert np.hypot(part.points[:, 0], part.points[:, 2]).min() > US_6 / 2 - 0.02, lines


@pytest.mark.parametrize("seed", range(8))
def test_a_half_hoop_lets_light_through_and_leaves_the_finger_free(seed: int) -> None:
    lines = _half_hoop(seed)
    made = _made(lines)
    _held_open(made, lines)
    assert len(made.stones) == (3, 5, 7)[seed % 3]


def test_an_eternity_ring_stands_on_rails_alone_or_on_its_band() -> None:
    rails = (
        "path way: finger us 6, outset 3.25 mm\n"
        "stone row: round 2.5 mm, gem diamond, along way, gap 0.15 mm\n"
        "basket head: for row, shared, foot 2.6 mm, rail 1.2 mm\n"
    )
    band = (
        "band shank: finger us 6, wide 2.4 mm, thick 1.8 mm\n"
        "stone row: round 2.5 mm, gem diamond, along around of shank, gap 0.15 mm, level back, out 0.5 mm\n"
        "basket head: for row, shared, on shank\n"
    )
    for lines in (rails, band):
        _held_open(_made(lines), lines)


LOOSE_ROW = "stone row: round 3 mm to {large} mm, gem diamond, row 3, gap 0.25 mm, {way}\nbasket head: for row, shared\n"


@pytest.mark.parametrize(("large", "way", "claws"), [("3.6", "up 0 mm", 8), ("5", "turn -90 deg", 12)])
def test_a_graded_row_alone_is_held_at_every_girdle(large, way, claws):
    """Alike stones share pairs; of stones as unlike as 3 and 5 mm each has four claws of its own, and no
    more than a third of any girdle is free between them (common practice, no source)."""
    made = _made(LOOSE_ROW.format(large=large, way=way))
    (part,) = made.parts
    solid = solid_of(part)
    assert len(solid.decompose()) == 1
    assert len(solid.slice(0.6).decompose()) == claws
    for stone, across in zip(made.stones, (3, 4, 5), strict=True) if claws == 12 else ():
        turn = np.radians(np.arange(0, 360, 2))
        rim = (across / 2 - 0.08) * np.stack((np.cos(turn), np.sin(turn), 0 * turn), axis=1)
        over = [
            (met(corners(made), stone.frame[:, :3] @ spot + stone.frame[:, 3], stone.frame[:, 2]) > 0).any()
            for spot in rim
        ]
        free = "".join("x" if one else " " for one in over * 2)
        assert 2 * max(map(len, free.split("x"))) < 120


def test_a_rail_too_thick_for_a_narrow_end_is_refused_and_a_thinner_one_made():
    lines = (
        "band shank: finger \"uk M 1/2\", wide 2.2 mm, thick 1.8 mm, profile d\n"
        "stone bag: tapered-baguette 4 x 2.5 x 1.5 mm, gem diamond, on shank, around 26 deg, out 1.7 mm\n"
        "basket head: for bag, on shank, wire 0.75 mm, rail {rail} mm\nbore: of shank\n"
    )
    text = 'piece "Row"\n  metal gold-750-yellow\n' + lines
    refused = build("p.posy", files=Texts({"p.posy": text.format(rail=0.9)}))
    (fault,) = [one for one in refused.faults if one.level.value == "fault"]
    assert fault.message == "the rail leaves no opening below the stone" and "thinner rail" in fault.remedy
    _made(lines.format(rail=0.53))


@pytest.mark.parametrize("sizes", ["4 mm to 5.5 mm to 4 mm", "3 mm to 4.5 mm to 3 mm", "4 mm to 6.5 mm to 4 mm"])
def test_shared_claws_of_three_stones_on_a_shank_lie_over_each_girdle(sizes: str) -> None:
    """Culets at one height, the middle girdle higher: what the claws lap there is a tenth of a millimetre or more."""
    made = built(
        "band shank: inside 16.5 mm, wide 2.4 mm, thick 1.9 mm\n"
        f"stone trio: round {sizes}, gem diamond, on shank, row 3, gap 0.2 mm, level back, out 0.8 mm\n"
        "basket head: for trio, shared, on shank"
    )
    assert not [fault.text for fault in made.faults if fault.level is not Level.HINT]


@pytest.mark.parametrize("centre", ["emerald 6 x 8 mm", "princess 6 mm", "baguette 5 x 8 mm", "square-step 6 mm"])
def test_claws_of_a_cluster_round_corners_leave_room_for_a_tool(centre: str) -> None:
    made = built(f"stone c: {centre}, gem emerald\nbasket b: for c, foot 5 mm\ncluster r: for c, gem diamond, across 2.6 mm")
    assert "no-tool-room" not in [fault.code for fault in made.faults if fault.level is not Level.HINT]


@pytest.mark.parametrize(("centre", "more"), [
    ("round 6 mm", ""), ("oval 5 x 7 mm", ""), ("oval 5 x 7 mm", ", number 12"), ("oval 6 x 8 mm", ""), ("oval 6 x 9 mm", ""),
])  # fmt: skip
def test_neighbours_in_a_cluster_share_their_claws(centre: str, more: str) -> None:
    """Two claws to each gap, and the four of the middle, cut in the plane of its girdle."""
    made = built(f"stone c: {centre}, gem ruby\nbasket b: for c\ncluster r: for c, gem diamond, across 2.2 mm{more}")
    assert "no-tool-room" not in [fault.code for fault in made.faults]
    (part,) = made.parts
    cut = [one for one in solid_of(part).slice(0.0).decompose() if one.area() > 0.01]
    assert len(cut) == 2 * (len(made.stones) - 1) + 4
