"""Wall thickness and gaps against closed forms and a search with scipy's k-d tree."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from scipy.spatial import cKDTree

from posy.compiler.measures.balls import Balls, shrink
from posy.compiler.measures.skin import Skin, from_manifold
from posy.compiler.measures.thickness import FACING, spots_on, straight_in, thickness

Cross = manifold3d.CrossSection
ball = manifold3d.Manifold.sphere
rod = manifold3d.Manifold.cylinder
box = manifold3d.Manifold.cube
prism = manifold3d.Manifold.extrude


def ball_thickness(skin: Skin, limit: float, most_spots: int = 4000):
    """Spots on a skin and the diameter of the ball from each to the metal across, inf from
    ``limit`` on: what the walls are measured with, at every spot."""
    spots = spots_on(skin, 0.1 * limit, most_spots)
    far, _, square = straight_in(skin, spots)
    faced = (square > np.cos(np.radians(FACING)) + 1e-4) & (far < limit)
    radius = np.where(faced, np.minimum(far * 1.05 + 1e-3, limit), limit) / 2
    inward = -skin.outward(spots.at, spots.triangle)
    start = Balls(spots.at, inward, radius, np.full(len(radius), -1, dtype=np.int64))
    balls = shrink(skin, start, FACING)
    return spots, np.where(balls.touch < 0, np.inf, 2 * balls.radius)


def outline(*points: tuple[float, float]) -> manifold3d.CrossSection:
    return Cross([np.array(points, dtype=float)])


def wedge(degrees: float, start: float, end: float, deep: float = 6.0) -> manifold3d.Manifold:
    """A wedge about the x axis with its edge at x = 0, cut to start..end."""
    slope = np.tan(np.radians(degrees / 2))
    low, high = start * slope, end * slope
    corners = [(end, -high), (end, high), (start, low), (start, -low)]
    return prism(outline(*(corners if start else corners[:3])), deep)


# Closed forms (elementary geometry): the largest ball that touches the surface at its thinnest.
SHAPES = [
    ("concentric shell", lambda: ball(3, 96) - ball(2.5, 96), 0.8, 0.5),
    ("shell off centre", lambda: ball(3, 96) - ball(2.5, 96).translate((0.2, 0, 0)), 0.8, 0.3),
    ("plate", lambda: box((20, 10, 0.7)), 0.8, 0.7),
    ("plate over the limit", lambda: box((20, 10, 2.0)), 0.8, 2.0),
    ("turned plate", lambda: box((20, 10, 0.7)).rotate((20, 30, 40)), 0.8, 0.7),
    ("tube", lambda: rod(10, 3, 3, 128) - rod(10, 2.6, 2.6, 128), 0.8, 0.4),
    ("ring", lambda: manifold3d.Manifold.revolve(Cross.circle(0.3, 48).translate((4, 0)), 96), 0.8, 0.6),
    (
        "bar open at the back",
        lambda: box((20, 5, 2.2)) - box((18.2, 3.2, 1.5)).translate((0.9, 0.9, -0.3)),
        1.2,
        0.9,
    ),
    (
        "drill tip near a face",
        lambda: box((20, 10, 2)) - rod(1.7, 1.0, 0.0, 64).translate((5.03, 5.02, 0)),
        0.8,
        0.3,
    ),
    (
        "root of a square groove",
        lambda: (
            box((20, 10, 1))
            - prism(outline((0, 0.3), (1, 1.3), (-1, 1.3)), 30)
            .rotate((90, 0, 0))
            .translate((7.03, 20, 0))
        ),
        0.8,
        0.3,
    ),
    ("L plate", lambda: box((10, 8, 0.6)) + box((0.9, 8, 10)), 0.8, 0.6),
]


@pytest.mark.parametrize(("name", "make", "limit", "due"), SHAPES, ids=[s[0] for s in SHAPES])
def test_thinnest_wall_of_closed_forms(name, make, limit, due):
    found = thickness(from_manifold(make()), limit)
    assert found.figure == pytest.approx(due, rel=0.01), name
    assert bool(found.places) == (due < limit)


@pytest.mark.parametrize("degrees", [10, 20, 30, 40])
def test_blunt_wedge_is_as_thick_as_the_ball_at_its_end(degrees):
    # Closed form: a ball between two planes at the angle a, touching each x from their edge
    # along the plane, has diameter 2 x tan(a/2).
    half = np.radians(degrees / 2)
    start = 0.1 / np.tan(half)
    found = thickness(from_manifold(wedge(degrees, start, start + 5)), 0.8)
    due = 2 * start / np.cos(half) * np.tan(half)
    assert found.figure == pytest.approx(due, rel=0.01)
    assert found.at[0] == pytest.approx(start, abs=0.15)


def test_ball_on_the_side_of_a_wedge_everywhere():
    # Closed form 2 x tan(a/2) again, at every point and not only at the thinnest.
    spots, size = ball_thickness(from_manifold(wedge(30, 1.0, 6.0)), 1.5)
    side = (np.abs(spots.inward[:, 1]) > 0.9) & np.isfinite(size) & (spots.at[:, 0] < 2.3)
    along = np.hypot(spots.at[side, 0], spots.at[side, 1])
    assert side.sum() > 100
    np.testing.assert_allclose(size[side], 2 * along * np.tan(np.radians(15)), rtol=1e-6)


@pytest.mark.parametrize(("degrees", "knife"), [(25, True), (44, True), (50, False), (90, False)])
def test_only_wedges_sharper_than_the_angle_are_knives(degrees, knife):
    found = thickness(from_manifold(wedge(degrees, 0.0, 6.0)), 0.8)
    if knife:
        assert found.figure < 1e-9
        assert found.at[:2] == pytest.approx((0, 0), abs=1e-6)
    else:
        assert found.places == ()


def test_the_angle_can_be_set():
    skin = from_manifold(wedge(35, 0.0, 6.0))
    assert thickness(skin, 0.8, facing=45).figure < 1e-9
    assert thickness(skin, 0.8, facing=30).places == ()


@pytest.mark.parametrize("bevel", [0.0, 0.3])
def test_square_and_bevelled_edges_of_a_plate_are_no_walls(bevel):
    w = 2.0
    section = outline(
        (bevel, 0), (8 - bevel, 0), (8, bevel), (8, w - bevel), (8 - bevel, w), (bevel, w),
        (0, w - bevel), (0, bevel),
    ) if bevel else outline((0, 0), (8, 0), (8, w), (0, w))  # fmt: skip
    found = thickness(from_manifold(prism(section, 12)), 0.9)
    assert found.places == ()
    assert found.figure == pytest.approx(w, rel=0.01)


def test_one_place_for_each_thin_spot_with_its_features():
    plate = box((30, 10, 2)).as_original()
    drill = rod(1.5, 0.8, 0.8, 48).as_original()
    other = rod(1.7, 0.8, 0.8, 48).as_original()
    solid = plate - drill.translate((6, 5, -0.1)) - other.translate((22, 5, -0.1))
    names = {plate.original_id(): 7, drill.original_id(): 8, other.original_id(): 9}
    found = thickness(from_manifold(solid, names), 0.8)
    assert [p.figure for p in found.places] == pytest.approx([0.4, 0.6], rel=1e-6)
    assert [set(p.pair) for p in found.places] == [{7, 9}, {7, 8}]
    assert found.places[0].at[0] == pytest.approx(22, abs=0.8)
    # Area: both faces of the disc left, to about a sample's share round its rim.
    assert found.places[0].area == pytest.approx(2 * np.pi * 0.8**2, rel=0.15)


def dense(skin: Skin, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Many points of a skin with their normals, by a generator of its own."""
    chance = np.random.default_rng(5)
    face = chance.choice(len(skin.triangles), count, p=skin.areas / skin.areas.sum())
    a, b, c = skin.corners[face].transpose(1, 0, 2)
    u, v = np.sqrt(chance.random(count))[:, None], chance.random(count)[:, None]
    return a * (1 - u) + b * u * (1 - v) + c * u * v, skin.normals[face]


def test_balls_agree_with_a_shrinking_ball_over_a_k_d_tree():
    """Reference: scipy.spatial.cKDTree with the shrinking ball of Ma, Bae and Choi (2012, The Visual Computer
    28:7-19, from memory) over 400,000 points of a smooth solid, where every contact is an opposing one."""
    skin = from_manifold(ball(3, 96).scale((1.0, 0.8, 0.6)) - ball(2.0, 96).translate((0.4, 0, 0)).scale((1, 0.8, 0.6)))  # fmt: skip
    spots, size = ball_thickness(skin, 2.0, most_spots=600)
    points, _ = dense(skin, 400_000)
    tree = cKDTree(points)
    inward = spots.inward
    radius = np.full(len(size), 1.0)
    for _ in range(40):
        far, near = tree.query(spots.at + radius[:, None] * inward)
        go = points[near] - spots.at
        up = (go * inward).sum(axis=1)
        # Points next to p itself only tell of the facets' corners: not a contact.
        touches = (far < radius * (1 - 1e-3)) & (up > 0.3 * np.linalg.norm(go, axis=1))
        radius[touches] = ((go**2).sum(axis=1)[touches]) / (2 * up[touches])
    both = np.isfinite(size) & (radius < 0.99)
    assert both.sum() > 300
    np.testing.assert_allclose(size[both], 2 * radius[both], rtol=0.05)
    assert np.median(np.abs(size[both] / (2 * radius[both]) - 1)) < 0.01


def test_rays_agree_with_the_kernel():
    """Reference: manifold3d's own ray_cast."""
    solid = ball(3, 64) - box((2, 2, 9)).translate((-1, -1, -4)) - rod(9, 0.5, 0.8, 32)
    skin = from_manifold(solid)
    chance = np.random.default_rng(3)
    start = chance.uniform(-4, 4, (400, 3))
    way = chance.normal(size=(400, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    far, _ = skin.grid.cast(start, way, leaving=False)
    for k in range(len(start)):
        hits = solid.ray_cast(tuple(start[k]), tuple(start[k] + 20 * way[k]))
        due = min((np.linalg.norm(np.array(h.position) - start[k]) for h in hits), default=np.inf)
        assert far[k] == pytest.approx(due, abs=1e-6)


def test_same_skin_same_answer():
    make = SHAPES[6][1]
    assert thickness(from_manifold(make()), 0.8) == thickness(from_manifold(make()), 0.8)
