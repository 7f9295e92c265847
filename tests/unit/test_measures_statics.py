"""Hanging, free arcs and sharp edges on shapes whose answer is plain from their sizes."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from posy.compiler.measures.arcs import held, runs
from posy.compiler.measures.edges import in_bore, sharp_edges, towards_back
from posy.compiler.measures.hang import hang
from posy.compiler.measures.skin import from_manifold
from posy.compiler.measures.stone import Stone, hull

rod = manifold3d.Manifold.cylinder
box = manifold3d.Manifold.cube


def test_outline_of_a_square_stone():
    corners = np.array([[1, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0], [0, 0, -1.5], [0, 0, 1.0]])
    stone = Stone(corners, np.zeros(3), np.array([0, 0, 2.0]), np.array([1.0, 0, 0]))
    assert stone.radius(np.array([0.0, 45, 90])) == pytest.approx([1, np.sqrt(2), 1])
    assert stone.girdle == pytest.approx((0, 0))
    assert stone.tip == pytest.approx((0, 0, -1.5))
    assert len(hull(corners[:, :2])) == 4


@pytest.mark.parametrize(
    ("given", "free", "ok"),
    [
        ([], 360, False),
        ([10.0], 360, False),
        ([0.0, 180.0], 180, False),
        ([0.0, 120.0, 240.0], 120, True),
        ([(350.0, 370.0), 90.0], 260, False),
        ([(0.0, 200.0)], 160, True),
        ([(0.0, 360.0)], 0, True),
        ([(-20.0, 20.0), (100.0, 140.0), (220.0, 260.0)], 80, True),
    ],
)
def test_free_arcs(given, free, ok):
    found = held(given)
    assert found.free == pytest.approx(free)
    assert found.is_held is ok


def test_runs_join_over_zero():
    flags = np.zeros(36, dtype=bool)
    flags[[35, 0, 1, 10]] = True
    found = [arc for arc, _ in runs(flags)]
    assert found == [(95.0, 105.0), (345.0, 375.0)]


# Statics by hand (facts.md section 7): tan of the tilt is the offset over the drop.
def test_one_ring():
    found = hang((1.0, -10.0, 2.0), [(0, 0, 0)])
    assert (found.kind, found.flips, found.lifts) == ("one", False, False)
    assert found.tilt_side == pytest.approx(np.degrees(np.arctan(0.1)))
    assert found.tilt_forward == pytest.approx(np.degrees(np.arctan(0.2)))
    assert found.shares == (1.0,)


def test_one_ring_below_the_middle_flips():
    assert hang((0, 1.0, 0), [(0, 0, 0)]).flips


def test_two_rings_share_the_load():
    found = hang((1.0, -10.0, 1.0), [(-5, 0, 0), (5, 0, 0)])
    assert found.kind == "two"
    assert found.shares == pytest.approx((0.4, 0.6))
    assert found.tilt_forward == pytest.approx(np.degrees(np.arctan(0.1)))
    assert found.tilt_side == 0.0
    assert not found.lifts
    # The order in which they are named is the order of the shares.
    assert hang((1.0, -10.0, 1.0), [(5, 0, 0), (-5, 0, 0)]).shares == pytest.approx((0.6, 0.4))


def test_two_rings_one_goes_slack_or_all_turns_over():
    assert hang((6.0, -1.0, 0), [(-5, 0, 0), (5, 0, 0)]).lifts
    assert hang((0.0, 1.0, 0), [(-5, 0, 0), (5, 0, 0)]).flips


def test_two_rings_of_unlike_height_hang_level():
    found = hang((0.0, -8.0, 0), [(-5, 0, 0), (5, 1.0, 0)])
    assert found.tilt_side == pytest.approx(np.degrees(np.arctan(0.1)))
    assert sum(found.shares) == pytest.approx(1.0)


@pytest.mark.parametrize("rise", [-1.5, 0.0, 2.0])
def test_turned_by_its_tilts_the_middle_hangs_straight_below(rise):
    """The tilts, applied as turns of the body, must bring the rings level and the centre of
    mass straight below the line of them: the definition of rest."""
    rings = np.array([[-5.0, 1.0, 0.5], [5.0, 1.0 + rise, 0.5]])
    centre = np.array([1.0, -7.0, 2.0])
    found = hang(centre, rings.tolist())
    side, forward = np.radians([found.tilt_side, found.tilt_forward])
    c, s = np.cos(side), np.sin(side)
    drop_right = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    c, s = np.cos(forward), np.sin(forward)
    lean = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    a, b, g = (lean @ drop_right @ (p - rings[0]) for p in (*rings, centre))
    assert (a[1], b[1]) == pytest.approx((0, 0), abs=1e-9)
    assert g[2] == pytest.approx(0, abs=1e-9)
    assert g[1] < 0
    assert found.shares == pytest.approx((1 - g[0] / b[0], g[0] / b[0]))


def test_three_rings_use_the_outermost():
    assert hang((0, -5.0, 0), [(0, 0, 0), (-4, 0, 0), (4, 0, 0)]).shares == pytest.approx((0, 0.5, 0.5))


def test_rings_behind_the_piece_lean_it_forward():
    assert hang((0, -4.0, 3.0), [(-3, 0, -1.0), (3, 0, -1.0)]).tilt_forward == pytest.approx(45)


def test_no_support_is_our_mistake():
    with pytest.raises(ValueError, match="support"):
        hang((0, 0, 0), [])


def test_sharp_edges_at_the_back_of_a_plate():
    (found,) = sharp_edges(from_manifold(box((10, 5, 3))), towards_back)
    assert found.length == pytest.approx(30)
    assert found.angle == pytest.approx(90)
    assert found.at[2] == 0
    assert sharp_edges(from_manifold(box((10, 5, 3))), towards_back, angle=80) == []
    assert sharp_edges(from_manifold(box((10, 5, 3))), towards_back, longer=31) == []


def test_softened_back_has_no_sharp_edge():
    corners = np.array([[x, y, z] for x in (0, 10) for y in (0, 5) for z in (0.5, 3.0)])
    inner = np.array([[x, y, 0.0] for x in (0.5, 9.5) for y in (0.5, 4.5)])
    solid = manifold3d.Manifold.hull_points(np.concatenate((corners, inner)))
    assert sharp_edges(from_manifold(solid), towards_back) == []


def test_sharp_edges_inside_a_band():
    band = rod(4, 9.5, 9.5, 128) - rod(9, 8.5, 8.5, 128, center=True)
    region = in_bore(np.zeros(3), np.array([0, 0, 1.0]), 8.5)
    found = sharp_edges(from_manifold(band), region)
    assert [edge.length for edge in found] == pytest.approx([2 * np.pi * 8.5] * 2, rel=1e-3)
