"""Necks between parts, metal in stones, in the hole for a finger and behind light holes, against
closed forms, scipy and trimesh."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold
from scipy.spatial import ConvexHull
from texts import built

from posy.compiler.bench.stone_solid import stone_mesh
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build
from posy.compiler.measures.necks import necks
from posy.compiler.measures.skin import from_manifold
from posy.lang.loader import Texts

CLOSE = 0.05


def told(text: str, rule: str) -> Remark:
    """The one remark of a rule on a text."""
    made = build("piece.posy", files=Texts({"piece.posy": text}))
    (found,) = [f for f in made.faults if isinstance(f, Remark) and f.code == rule]
    return found


def joined(one: Manifold, two: Manifold):
    """The one neck between two solids."""
    skin = from_manifold(one + two)
    (neck,) = necks(skin, skin.owner, 100.0)
    return neck


def stamped(solid: Manifold) -> Manifold:
    """A solid that knows its own faces."""
    return solid.as_original()


@pytest.mark.parametrize("sunk", [0.05, 0.2, 0.5, 1.2])
@pytest.mark.parametrize("turn", [(0, 0, 0), (31, 17, 8)])
def test_a_ball_in_a_plate_is_joined_over_a_circle(sunk, turn):
    """Closed form: a sphere cut h deep is joined over pi (2 R h - h^2); the rest of it is
    4/3 pi R^3 - pi h^2 (3 R - h) / 3 over 2 R - h."""
    r = 1.5
    plate = Manifold.cube((12, 12, 2)).translate((-6, -6, -2)).rotate(turn)
    drop = Manifold.sphere(r, 512).translate((0, 0, r - sunk)).rotate(turn)
    neck = joined(stamped(plate), stamped(drop))
    rest = 4 / 3 * math.pi * r**3 - math.pi * sunk**2 * (3 * r - sunk) / 3
    assert neck.area == pytest.approx(math.pi * (2 * r * sunk - sunk**2), rel=CLOSE)
    assert neck.section == pytest.approx(rest / (2 * r - sunk), rel=CLOSE)


@pytest.mark.parametrize("apart", [1.98, 1.9, 1.7])
def test_two_rods_side_by_side_are_joined_along_a_strip(apart):
    """Closed form: cylinders of radius 1 meet over a strip 2 sqrt(1 - (d/2)^2) wide."""
    rod = Manifold.cylinder(12, 1, 1, 2048)
    neck = joined(stamped(rod), stamped(rod.translate((apart, 0, 0))))
    assert neck.area == pytest.approx(12 * 2 * math.sqrt(1 - apart**2 / 4), rel=CLOSE)


def test_a_tube_stands_on_a_ring_and_a_rod_through_a_plate_on_two_circles():
    """Closed forms: pi (R^2 - r^2); twice pi r^2."""
    plate = Manifold.cube((12, 12, 1)).translate((-6, -6, 0))
    tube = Manifold.cylinder(4, 2, 2, 256) - Manifold.cylinder(4, 1.6, 1.6, 256)
    neck = joined(stamped(plate), stamped(tube.translate((0, 0, 0.9))))
    assert neck.area == pytest.approx(math.pi * (4 - 1.6**2), rel=0.01)
    rod = Manifold.cylinder(5, 0.7, 0.7, 256).translate((0, 0, -2))
    assert joined(stamped(plate), stamped(rod)).area == pytest.approx(2 * math.pi * 0.49, rel=0.01)


@pytest.mark.parametrize("thin", [1.0, 0.8])
def test_two_rods_that_cross_hold_by_both_arms(thin):
    """Closed form: seen along the thinner rod each of its arms meets the other over its own circle.
    Of two alike the curves where they meet touch in two points (Steinmetz)."""
    one = Manifold.cylinder(12, 1, 1, 256).translate((0, 0, -6))
    two = Manifold.cylinder(8, thin, thin, 256).translate((0, 0, -4)).rotate((90, 0, 0))
    assert joined(stamped(one), stamped(two)).area == pytest.approx(2 * math.pi * thin**2, rel=0.01)


@pytest.mark.parametrize("sunk", [0.2, 0.9, 1.3])
def test_how_much_of_a_stone_lies_in_metal(sunk):
    """Reference: scipy.spatial.ConvexHull of the part of the stone's own facets below the face."""
    text = f"plate t: round 12 mm, thick 3 mm\nstone st: round 4 mm, gem ruby, at face of t, out {sunk} mm\n"
    found = told(text, "stone-in-metal")
    points, triangles = stone_mesh(("round", 4.0, 4.0))
    a, b = points[triangles].reshape(-1, 3), points[np.roll(triangles, 1, axis=1)].reshape(-1, 3)
    crossed = (a[:, 2] + sunk) * (b[:, 2] + sunk) < 0
    a, b = a[crossed], b[crossed]
    met = a + ((-sunk - a[:, 2]) / (b[:, 2] - a[:, 2]))[:, None] * (b - a)
    below = ConvexHull(np.concatenate((points[points[:, 2] <= -sunk], met))).volume
    assert found.figure == pytest.approx(-points[:, 2].min() - sunk, rel=CLOSE)
    shared, whole = re.findall(r"([\d.]+) mm3", found.seen)
    assert float(shared) == pytest.approx(below, rel=CLOSE)
    assert float(whole) == pytest.approx(ConvexHull(points).volume, rel=CLOSE)


@pytest.mark.parametrize("deep", [0.3, 1.4, 2.0])
def test_how_deep_a_rod_stands_in_the_hole(deep):
    """Reference: the least distance from the axis of points spread over the mesh by trimesh."""
    text = f'band shank: finger "us 7", wide 3 mm, thick 1.9 mm\nrod peg: at top of shank, inward {1.9 + deep} mm, wire 1.6 mm, long 5 mm\n'
    made = built(text)
    (found,) = [f for f in made.faults if f.code == "blocked-bore"]
    (part,) = made.parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    spots, _ = trimesh.sample.sample_surface(mesh, 60_000, seed=1)
    far = np.hypot(spots[:, 0], spots[:, 2])
    assert found.figure == pytest.approx(17.3228 / 2 - far.min(), abs=0.02)


def test_a_wire_across_a_light_hole_leaves_two_segments():
    """Closed form: the strip of a circle of radius r between y = a and y = b."""
    text = """stone st: round 4 mm, gem ruby
bar f: size 12 x 8 x 2 mm, under st
seat: for st, in f
path way: through (-5, 0 mm) to (5, 0 mm), inward 2.3 mm
wire rail: along way, round 0.8 mm
"""
    found = told(text, "crossed-hole")
    r = 0.95  # of the hole, over which the rays are spread
    a = 0.4 / (r * 1.0)
    strip = 2 * (a * math.sqrt(1 - a * a) + math.asin(a)) / math.pi
    assert found.figure == pytest.approx(1 - strip, abs=0.05)


def test_where_the_weight_of_a_ring_lies():
    """Reference: trimesh's centre of mass."""
    text = 'metal gold-750-yellow\nband shank: finger "us 7", wide 2 mm, thick 1.8 mm\nball b: at top of shank, inward 0.6 mm, across 10.2 mm\n'
    made = built(text.replace("metal gold-750-yellow\n", ""))
    (found,) = [f for f in made.faults if f.code == "rolling-ring"]
    (part,) = made.parts
    centre = trimesh.Trimesh(part.points, part.triangles, process=False).center_mass
    assert found.figure == pytest.approx(math.hypot(centre[0], centre[2]), rel=0.005)


def test_the_pin_of_a_bangles_hinge_goes_through_the_ends_of_its_wire():
    """By the kernel: what the pin and either half have in common is no more than chords leave."""
    text = """\
path front: inside 58 x 48 mm, arc -90 deg to 90 deg, outset 1.3 mm
path rear: inside 58 x 48 mm, arc 90 deg to 270 deg, outset 1.3 mm
casting upper
  wire fore: along front, flat 7 x 2.6 mm
  hinge joint: at pick(ends of front, 1), in fore, long 7 mm, pin-in
casting lower
  wire aft: along rear, flat 7 x 2.6 mm
  hinge joint-two: at pick(ends of front, 1), in aft, long 7 mm, other
"""
    made = build("piece.posy", files=Texts({"piece.posy": text}))
    measures = made.piece.casting_measures
    (pin,) = (one for one in measures.bodies if measures.castings[one.casting].bought)
    halves = [one for one in measures.bodies if one is not pin]
    assert len(halves) == 2
    assert max((pin.solid ^ one.solid).volume() for one in halves) < 0.01
    assert measures.pins == {measures.bodies.index(pin)}
