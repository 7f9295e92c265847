"""Hanging, holding, seats and sharp edges on shapes whose answer is plain from their sizes."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from posy.compiler.measures.arcs import held, runs
from posy.compiler.measures.below import Back, below
from posy.compiler.measures.contacts import contacts
from posy.compiler.measures.edges import in_bore, sharp_edges, towards_back
from posy.compiler.measures.hang import hang
from posy.compiler.measures.skin import from_manifold
from posy.compiler.measures.stone import Stone, hull

rod = manifold3d.Manifold.cylinder
box = manifold3d.Manifold.cube
PLACES = [np.eye(3), np.array([[0, 0, 1.0], [1, 0, 0], [0, 1, 0]])]


def brilliant(turn: np.ndarray, at: np.ndarray) -> Stone:
    """A round stone of 5 mm: girdle 0.1, crown 0.75, pavilion 2.15 mm."""
    angle = np.radians(np.arange(64) * 360 / 64)
    ring = np.stack((np.cos(angle), np.sin(angle), 0 * angle), axis=1)
    up = np.array([0, 0, 1.0])
    points = np.concatenate(
        (ring * 2.5 - 0.05 * up, ring * 2.5 + 0.05 * up, ring * 1.4 + 0.8 * up, [-2.2 * up])
    )
    return Stone(points @ turn + at, at, turn[2], turn[0])


def placed(solid, turn: np.ndarray, at: np.ndarray):
    return from_manifold(solid.transform(np.concatenate((turn.T, at[:, None]), axis=1)))


def body_of(stone: Stone):
    return manifold3d.Manifold.hull_points(np.ascontiguousarray(stone.points))


def prongs(count: int, height: float = 0.6):
    """Prongs of 0.9 mm with their middle 0.1 mm outside the girdle, cut by the stone."""
    solid = manifold3d.Manifold()
    for k in range(count):
        turn = np.radians(45 + 360 * k / count)
        at = (2.6 * np.cos(turn), 2.6 * np.sin(turn), -3.4)
        solid += rod(3.45 + height, 0.45, 0.45, 48).translate(at)
    return solid - body_of(brilliant(np.eye(3), np.zeros(3)))


def plate(edge: float = 4.0, bottom: float = -2.95):
    """A plate with its face at the girdle's top, a seat, and a light hole of 2.4 mm."""
    stone = body_of(brilliant(np.eye(3), np.zeros(3)))
    solid = box((8, 4 + edge, 0.05 - bottom)).translate((-4, -edge, bottom))
    return solid - rod(9, 1.2, 1.2, 64).translate((0, 0, -5)) - stone


@pytest.mark.parametrize("turn", PLACES)
@pytest.mark.parametrize(("count", "free"), [(3, 101.0), (4, 71.0), (6, 41.0)])
def test_prongs_hold_a_stone_wherever_it_stands(turn, count, free):
    at = np.array([3.0, -1.0, 7.0])
    found = contacts(brilliant(turn, at), placed(prongs(count), turn, at))
    assert len(found.covers) == count
    # A prong of radius 0.45 at 2.6 meets the circle of 2.5 within 10 degrees either way.
    half = np.degrees(np.arccos((2.6**2 + 2.5**2 - 0.45**2) / (2 * 2.6 * 2.5)))
    for k, cover in enumerate(sorted(found.covers, key=lambda c: c.start)):
        assert (cover.start + cover.end) / 2 == pytest.approx(45 + 360 * k / count, abs=1)
        assert cover.end - cover.start == pytest.approx(2 * half, abs=1.5)
        assert cover.bite == pytest.approx(0.35, abs=0.01)
        assert cover.height > 0.5
    assert found.held.is_held
    assert found.held.free == pytest.approx(360 / count - 2 * half, abs=1.5)
    assert found.held.free == pytest.approx(free, abs=1.5)


def test_low_prongs_do_not_cover_but_keep_from_sliding():
    stone = brilliant(np.eye(3), np.zeros(3))
    found = contacts(stone, from_manifold(prongs(4, height=0.0)))
    assert found.covers == ()
    assert not found.held.is_held
    assert len(found.side) == 4
    assert found.kept.is_held


def test_two_prongs_side_by_side_do_not_hold():
    stone = brilliant(np.eye(3), np.zeros(3))
    solid = manifold3d.Manifold()
    for turn in np.radians([20.0, 100.0]):
        solid += rod(4, 0.45, 0.45, 48).translate(
            (2.6 * np.cos(turn), 2.6 * np.sin(turn), -3.4)
        )
    found = contacts(stone, from_manifold(solid - body_of(stone)))
    assert len(found.covers) == 2
    assert not found.held.is_held
    assert found.held.free == pytest.approx(280 - 19, abs=2)
    assert found.held.middle == pytest.approx(240, abs=1)


def test_a_bezel_covers_all_round():
    stone = brilliant(np.eye(3), np.zeros(3))
    ring = rod(3, 3.0, 3.0, 128).translate((0, 0, -2.6)) - rod(9, 2.2, 2.2, 128, center=True)
    found = contacts(stone, from_manifold(ring - body_of(stone)))
    (cover,) = found.covers
    assert (cover.start, cover.end) == (0.0, 360.0)
    assert cover.bite == pytest.approx(0.3, abs=0.02)
    assert cover.height == pytest.approx(0.35, abs=0.08)
    assert found.held.free == 0.0


@pytest.mark.parametrize("turn", PLACES)
def test_metal_round_a_seat(turn):
    at = np.array([-2.0, 5.0, 1.0])
    stone = brilliant(turn, at)
    back = Back(at - 2.95 * turn[2], -turn[2])
    found = below(stone, placed(plate(), turn, at), back)
    # The pavilion falls 2.15 over 2.5: at 0.55 of the radius to -0.05 - 0.45 * 2.15.
    assert found.under == pytest.approx(2.95 - 0.05 - 0.45 * 2.15, abs=0.01)
    assert found.bearing == ((0.0, 360.0),)
    assert found.beside == pytest.approx(1.5, abs=0.01)
    assert found.open_beside == ()
    assert found.culet == pytest.approx(0.75, abs=1e-6)
    assert found.culet_gap == np.inf
    assert below(stone, placed(plate(), turn, at)).culet == pytest.approx(0.75, abs=1e-6)


def test_thin_wall_then_broken_wall():
    stone = brilliant(np.eye(3), np.zeros(3))
    found = below(stone, from_manifold(plate(edge=2.7)))
    assert found.beside == pytest.approx(0.2, abs=0.01)
    assert found.beside_at == pytest.approx((0, -2.6, 0), abs=0.05)
    found = below(stone, from_manifold(plate(edge=2.4)))
    ((start, end),) = found.open_beside
    # The circle of 2.5 passes the edge at 2.4 within acos(2.4/2.5) of straight down.
    half = np.degrees(np.arccos(2.4 / 2.5))
    assert (start, end) == pytest.approx((270 - half, 270 + half), abs=1.0)


def test_culet_that_sticks_out_and_one_over_metal():
    stone = brilliant(np.eye(3), np.zeros(3))
    thin = below(stone, from_manifold(plate(bottom=-1.5)))
    assert thin.culet == pytest.approx(-0.7, abs=1e-6)
    floor = plate() + box((8, 8, 0.5)).translate((-4, -4, -3.2))
    assert below(stone, from_manifold(floor)).culet_gap == pytest.approx(0.5, abs=1e-6)
    bore = Back(np.array([0, 0, -11.0]), np.array([0, 1.0, 0]), 8.5)
    assert below(stone, from_manifold(plate()), bore).culet == pytest.approx(0.3, abs=1e-6)


def test_outline_of_a_square_stone():
    corners = np.array(
        [[1, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0], [0, 0, -1.5], [0, 0, 1.0]]
    )
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
    assert hang((0, -5.0, 0), [(0, 0, 0), (-4, 0, 0), (4, 0, 0)]).shares == pytest.approx(
        (0, 0.5, 0.5)
    )


def test_rings_behind_the_piece_lean_it_forward():
    assert hang((0, -4.0, 3.0), [(-3, 0, -1.0), (3, 0, -1.0)]).tilt_forward == pytest.approx(45)


def test_no_support_is_our_mistake():
    with pytest.raises(ValueError, match="support"):
        hang((0, 0, 0), [])


def test_sharp_edges_at_the_back_of_a_plate():
    (found,) = sharp_edges(from_manifold(box((10, 5, 3))), towards_back())
    assert found.length == pytest.approx(30)
    assert found.angle == pytest.approx(90)
    assert found.at[2] == 0
    assert sharp_edges(from_manifold(box((10, 5, 3))), towards_back(), angle=80) == []
    assert sharp_edges(from_manifold(box((10, 5, 3))), towards_back(), longer=31) == []


def test_softened_back_has_no_sharp_edge():
    corners = np.array([[x, y, z] for x in (0, 10) for y in (0, 5) for z in (0.5, 3.0)])
    inner = np.array([[x, y, 0.0] for x in (0.5, 9.5) for y in (0.5, 4.5)])
    solid = manifold3d.Manifold.hull_points(np.concatenate((corners, inner)))
    assert sharp_edges(from_manifold(solid), towards_back()) == []


def test_sharp_edges_inside_a_band():
    band = rod(4, 9.5, 9.5, 128) - rod(9, 8.5, 8.5, 128, center=True)
    region = in_bore(np.zeros(3), np.array([0, 0, 1.0]), 8.5)
    found = sharp_edges(from_manifold(band), region)
    assert [edge.length for edge in found] == pytest.approx([2 * np.pi * 8.5] * 2, rel=1e-3)
