"""A path that lies on a domed band stays on its face when it is moved; a drill goes on through the far
wall where it is told to."""

from __future__ import annotations

import math

import pytest
from manifold3d import Manifold
from texts import built, laid, metal_of, solid_of, volume

from posy.compiler.bench.feature import Lines


def metal(text: str) -> Manifold:
    return metal_of(built(text, check_metal=False))


def band(more: str) -> str:
    return f"band shank: finger us 8, wide 8 mm, thick 2.4 mm, {more}\n"


def lines(text: str, name: str) -> Lines:
    found = laid(text, name).offers["path"]()
    assert isinstance(found, Lines)
    return found


PROFILES = ["profile court", "profile half-round", "profile d", "profile knife-edge", "profile flat",
            "profile court, comfort", "profile court, taper 5 x 1.8 mm"]  # fmt: skip
WAYS = ["beside edges of shank, inset 1.4 mm", "beside around of shank, up 2.2 mm",
        "beside around of shank, inset 1.9 mm", "beside around of shank, down 2 mm"]  # fmt: skip


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("way", WAYS)
def test_a_path_moved_on_a_band_lies_on_its_face(profile: str, way: str) -> None:
    """By the kernel: no metal a hair over the path, metal a hair below it, all round."""
    if "taper" in profile and "edges" not in way:
        pytest.skip("so far out a tapered band has no face")
    text = band(profile)
    solid = metal(text)
    for line in lines(f"{text}path lies: {way}", "lies").lines:
        for point, out in zip(line.points[::17], line.outs[::17], strict=True):
            (first, *_) = solid.ray_cast(tuple(point + out), tuple(point - out))
            assert abs(first.distance * 2 - 1.0) < 0.012


@pytest.mark.parametrize("line", ["engrave cut: stroke 0.4 mm, deep 0.3 mm, in shank",
                                  "bead-line cut: bead 0.4 mm", "wire cut: round 0.5 mm"])  # fmt: skip
def test_what_lies_along_it_lies_on_the_dome(line: str) -> None:
    """A groove takes metal out in one open channel, beads and wire stand half in the dome."""
    text = band("profile court")
    plain = metal(text)
    path = "path lies: beside edges of shank, inset 1.4 mm\n"
    made = metal(f"{text}{path}{line}, along lies")
    assert len(made.decompose()) == 1
    changed = (plain - made) if line.startswith("engrave") else (made - plain)
    round_ = 2 * math.pi * 11.0
    section = changed.volume() / 2 / round_
    assert 0.02 < section < 0.16
    assert made.genus() == 1  # no hollow under the skin, nothing beside the metal


@pytest.mark.parametrize("line", ["bead-line row: bead 0.4 mm", "rope-edge row: wire 0.3 mm", "ball row: across 0.5 mm, fit 0.6 mm, inward 0.2 mm"])
def test_a_row_moved_up_the_band_stands_on_it_as_one_along_the_moved_path(line: str) -> None:
    text = band("profile court")
    up = metal(f"{text}{line}, along around of shank, up 2.4 mm")
    laid_first = metal(f"{text}path lies: beside around of shank, up 2.4 mm\n{line}, along lies")
    assert (up - laid_first).volume() + (laid_first - up).volume() < 1e-3
    assert len(up.decompose()) == 1


def test_moved_off_the_band_it_is_told() -> None:
    with pytest.raises(AssertionError, match="off-the-face"):
        built(band("profile court") + "engrave cut: stroke 0.4 mm, deep 0.3 mm, in shank, along around of shank, up 5 mm")


TUBE = "tube t: outside 6 mm, inside 4 mm, long 10 mm\n"
ACROSS = "lean 90 deg, right 6 mm, out 5 mm, in t"


@pytest.mark.parametrize("cut", ["drill hole: across 2 mm", "pierce hole: rectangle 2 x 2 mm"])
def test_a_hole_through_both_walls(cut: str) -> None:
    """Against the kernel's own boolean of the same tool, all the way through and half way."""
    tube = metal(TUBE)
    tool = Manifold.cylinder(20, 1, 1, 256) if "drill" in cut else Manifold.cube((2, 2, 20)).translate((-1, -1, 0))
    tool = tool.rotate((0, 90, 0)).translate((-10, 0, 5))
    whole = tube.volume() - (tube - tool).volume()
    assert tube.volume() - metal(f"{TUBE}{cut}, {ACROSS}, through").volume() == pytest.approx(whole, rel=1e-2)
    assert tube.volume() - metal(f"{TUBE}{cut}, {ACROSS}").volume() == pytest.approx(whole / 2, rel=1e-2)


def test_through_is_the_same_where_there_is_one_wall() -> None:
    plate = "plate p: rectangle 8 x 8 mm, thick 1.5 mm\ndrill h: at face of p, across 2 mm, in p"
    assert volume(plate) == pytest.approx(volume(f"{plate}, through"), rel=1e-9)


LINK = """casting link: row 2, every 4.6 mm
  stone one: round 3 mm, gem sapphire
  basket box: for one
  link-joint joint: for one
"""


@pytest.mark.parametrize("degrees", [-25, -10, 0, 10, 30])
def test_a_link_turns_on_its_pin(degrees: float) -> None:
    """The next link, turned about the pin by the kernel, runs into nothing and keeps its play."""
    parts = built(LINK, check_metal=False).parts
    solids = [solid_of(p) for p in parts]
    left, right = sorted((s for s in solids if s.volume() > 5), key=lambda s: s.bounding_box()[0])
    axis, deep = (left.bounding_box()[3] - 0.7), -(3 * 0.43 + 0.5)
    turned = right.translate((-axis, 0, -deep)).rotate((0, degrees, 0)).translate((axis, 0, deep))
    assert (left ^ turned).volume() < 1e-3
    assert left.min_gap(turned, 0.2) > 0.05
