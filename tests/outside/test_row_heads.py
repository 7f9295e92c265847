"""Half hoops and eternity rings with claws that neighbours share: whatever the stones, light comes through
under each of them, nothing stands into the finger, the metal is one, and the rules find nothing.

Measured on the finished triangles by plain rays (Moller and Trumbore 1997) and the kernel's own parts."""

from __future__ import annotations

import random

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64
from test_set_in_metal import corners, met

from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
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
    assert len(Manifold(Mesh64(np.array(part.points, float), np.array(part.triangles, np.uint64))).decompose()) == 1
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
