"""Bodies, drainage, weight, sections and gaps against trimesh, scipy and closed forms."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import trimesh
from scipy import ndimage, optimize, sparse

from posy.compiler.measures.bodies import pieces, voids, winding
from posy.compiler.measures.closest import on_triangle
from posy.compiler.measures.drainage import drainage
from posy.compiler.measures.labels import groups
from posy.compiler.measures.mass import mass
from posy.compiler.measures.rays import room_at, within
from posy.compiler.measures.section import sections
from posy.compiler.measures.skin import Skin, from_manifold
from posy.compiler.measures.slender import slender
from posy.compiler.measures.voxels import fill, reach

Cross = manifold3d.CrossSection
ball = manifold3d.Manifold.sphere
rod = manifold3d.Manifold.cylinder
box = manifold3d.Manifold.cube
turn = manifold3d.Manifold.revolve


def as_trimesh(solid) -> trimesh.Trimesh:
    skin = from_manifold(solid)
    return trimesh.Trimesh(skin.points, skin.triangles, process=False)


@pytest.fixture(scope="module")
def nest():
    """A shell with a loose ball inside, a cube outside, and a second void in its wall."""
    shell = ball(3, 64) - ball(1.5, 64) - ball(0.3, 32).translate((2.3, 0, 0))
    return shell + ball(0.5, 48) + box((1, 1, 1)).translate((5, 5, 5))


def test_pieces_agree_with_trimesh_split(nest):
    """Reference: trimesh.Trimesh.split (connected faces), volumes and centres of mass."""
    parts = as_trimesh(nest).split(only_watertight=True, adjacency=None)
    solid = sorted(p.volume for p in parts if p.volume > 0)
    hollow = sorted(-p.volume for p in parts if p.volume < 0)
    assert sorted(v.volume for v in voids(nest)) == pytest.approx(hollow, rel=1e-9)
    found = pieces(nest)
    assert len(found) == 3
    assert found[0].volume == pytest.approx(solid[-1] - sum(hollow), rel=1e-9)
    assert [p.volume for p in found[1:]] == pytest.approx([1.0, solid[0]], rel=1e-9)
    assert found[1].centre == pytest.approx((5.5, 5.5, 5.5))
    assert voids(nest)[1].centre == pytest.approx((2.3, 0, 0), abs=1e-9)


def test_void_belongs_to_the_body_round_it():
    two = (ball(2, 48) - ball(1, 48)) + ball(2.1, 48).translate((10, 0, 0))
    small = pieces(two)[1]
    assert small.volume == pytest.approx((ball(2, 48) - ball(1, 48)).volume(), rel=1e-12)


def test_open_pocket_is_no_void():
    assert voids(box((5, 5, 5)) - rod(4, 1, 1, 32).translate((2.5, 2.5, 2))) == []


def test_winding_number():
    skin = from_manifold(ball(1, 32))
    assert winding(skin.corners, np.array([0.2, 0.1, 0])) == pytest.approx(1)
    assert winding(skin.corners, np.array([2.0, 0.1, 0])) == pytest.approx(0, abs=1e-12)


def test_mass_agrees_with_trimesh():
    """Reference: trimesh.Trimesh.volume and center_mass."""
    one = (ball(2, 32) - box((3, 1, 1))).translate((40, 3, 1))
    two = rod(3, 1, 0.2, 24).rotate((30, 20, 10))
    parts = [(as_trimesh(one), 10.36), (as_trimesh(two), 3.52)]
    grams = [mesh.volume * density / 1000 for mesh, density in parts]
    centre = sum(g * mesh.center_mass for g, (mesh, _) in zip(grams, parts, strict=True))
    found, at = mass([(one, 10.36), (two, 3.52)])
    assert found == pytest.approx(sum(grams), rel=1e-9)
    np.testing.assert_allclose(at, centre / sum(grams), rtol=1e-9)


def test_mass_of_stated_volumes_and_of_nothing():
    # A lever by hand: 2 g at 0 and 1 g at 3 balance at 1.
    grams, at = mass([((2000.0, np.zeros(3)), 1.0), ((1000.0, np.array([3.0, 0, 0])), 1.0)])
    assert (grams, *at) == pytest.approx((3.0, 1.0, 0.0, 0.0))
    assert mass([])[0] == 0.0


@pytest.mark.parametrize(("opening", "pitch"), [(0.4, 0.1), (0.6, 0.1), (1.0, 0.1), (1.4, 0.1)])
def test_neck_of_a_chamber(opening, pitch):
    # Closed form: the neck is the bore; the stated error is one pitch.
    hollow = box((10, 8, 5)) - box((8, 6, 3)).translate((1, 1, 1))
    hollow -= rod(3, opening / 2, opening / 2, 32).translate((5.03, 4.02, -1))
    (found,) = drainage(from_manifold(hollow), widest=1.6, pitch=pitch)
    assert found.neck == pytest.approx(opening, abs=pitch)
    assert found.width == pytest.approx(3.0, abs=2 * pitch)
    assert 1 < found.at[2] < 4


def test_shut_chamber_has_no_neck_and_open_pockets_pass():
    hollow = box((10, 8, 5)) - box((8, 6, 3)).translate((1, 1, 1))
    (found,) = drainage(from_manifold(hollow))
    assert found.neck == 0.0
    assert found.volume == pytest.approx(8 * 6 * 3, rel=0.05)
    open_back = box((20, 5, 2.2)) - box((18.2, 3.2, 1.5)).translate((0.9, 0.9, -0.3))
    assert drainage(from_manifold(open_back)) == []
    assert (drainage(from_manifold(open_back - rod(5, 0.5, 0.5, 32).translate((5, 2.5, 0)))) == [])


def test_two_chambers_are_told_apart():
    block = box((16, 6, 5)) - box((6, 4, 3)).translate((1, 1, 1)) - box((6, 4, 3)).translate((9, 1, 1))
    block -= rod(3, 0.3, 0.3, 32).translate((4, 3, -1)) + rod(3, 0.5, 0.5, 32).translate((12, 3, -1))
    found = drainage(from_manifold(block))
    assert [c.neck for c in found] == pytest.approx([0.6, 1.0], abs=0.1)
    assert [c.at[0] < 8 for c in found] == [True, False]


def test_cubes_and_distances_agree_with_scipy():
    """Reference: scipy.ndimage.distance_transform_edt; volume of the solid by the kernel."""
    solid = (ball(2, 64) - rod(9, 0.7, 0.7, 32, center=True)).rotate((10, 20, 30))
    skin = from_manifold(solid)
    metal = fill(skin, np.full(3, -3.0), 0.1, (61, 61, 61))
    assert metal.sum() * 0.1**3 == pytest.approx(solid.volume(), rel=0.01)
    due = ndimage.distance_transform_edt(~metal)
    found = reach(metal, 12)
    near = due <= 12
    np.testing.assert_allclose(found[near], due[near], rtol=1e-6)


def test_groups_agree_with_scipy():
    """Reference: scipy.sparse.csgraph.connected_components."""
    chance = np.random.default_rng(2)
    one, two = chance.integers(0, 500, (2, 380))
    links = sparse.coo_matrix((np.ones(380), (one, two)), shape=(500, 500))
    count, due = sparse.csgraph.connected_components(links, directed=False)
    found = groups(500, one, two)
    assert found.max() + 1 == count
    assert len(set(zip(found.tolist(), due.tolist(), strict=True))) == count


def test_closest_points_agree_with_a_minimiser():
    """Reference: scipy.optimize.minimize (SLSQP) on barycentric weights, a convex problem."""
    chance = np.random.default_rng(7)
    one, two = chance.normal(size=(2, 60, 3, 3))
    two += np.array([1.5, 0, 0])
    spots = on_triangle(two[:, 0], one)
    for k in range(60):
        assert np.linalg.norm(spots[k] - two[k, 0]) == pytest.approx(
            _minimum(one[k], np.repeat(two[k, :1], 3, axis=0)), abs=2e-3
        )


def _minimum(a: np.ndarray, b: np.ndarray) -> float:
    def off(w: np.ndarray) -> float:
        return float(((w[:3] @ a - w[3:] @ b) ** 2).sum())

    sums = [
        {"type": "eq", "fun": lambda w: w[:3].sum() - 1},
        {"type": "eq", "fun": lambda w: w[3:].sum() - 1},
    ]
    start = np.full(6, 1 / 3)
    result = optimize.minimize(
        off, start, bounds=[(0, 1)] * 6, constraints=sums, options={"ftol": 1e-14, "maxiter": 500},
    )
    return float(np.sqrt(result.fun))


def test_section_areas():
    # Closed form: a torus cut through its axis shows two n-gons, n/2 r^2 sin(2 pi/n).
    band = turn(Cross.circle(0.75, 64).translate((9, 0)), 128)
    one = 32 * 0.75**2 * np.sin(2 * np.pi / 64)
    found = sections(band, np.zeros(3), np.array([0, 1, 0]))
    assert [part.area for part in found] == pytest.approx([one, one], rel=1e-6)
    assert sorted(part.centre[0] for part in found) == pytest.approx([-9, 9], abs=1e-6)
    assert sections(band, np.array([0, 0, 5]), np.array([0, 0, 1])) == []


def test_slanting_section_agrees_with_trimesh():
    """Reference: trimesh.Trimesh.section and the polygon area of its loops (shoelace)."""
    solid = (rod(6, 1.2, 1.2, 48) - rod(6, 0.5, 0.5, 48)).rotate((25, 40, 0)).translate((1, 2, 3))
    origin, way = np.array([1.9, 1.2, 4.8]), np.array([0.3, -0.2, 1.0])
    loops = as_trimesh(solid).section(plane_origin=origin, plane_normal=way).discrete
    axis = way / np.linalg.norm(way)
    areas = [abs(np.cross(loop[:-1], loop[1:]).sum(axis=0) @ axis / 2) for loop in loops]
    due = 2 * max(areas) - sum(areas)
    assert len(areas) == 2
    found = sum(part.area for part in sections(solid, origin, way))
    assert found == pytest.approx(due, rel=1e-6)


def test_a_long_wire_is_slender_and_a_sheet_is_not():
    # Built sizes: wire 0.4 thick, 20 long (24 facets: 0.3966 across); sheet 0.4 thick.
    solid = rod(20, 0.2, 0.2, 24) + box((4, 4, 4)).translate((-2, -2, -4))
    solid += box((6, 0.4, 6)).translate((5, 0, 0))
    (found,) = slender(from_manifold(solid), 0.6)
    assert found.thickness == pytest.approx(0.3966, rel=0.025)
    assert found.length == pytest.approx(20, abs=0.6)
    assert found.ratio == pytest.approx(50, rel=0.05)
    assert {round(end[2] / 20) for end in found.ends} == {0, 1}


def test_a_hoop_counts_half_way_round():
    hoop = turn(Cross.circle(0.25, 32).translate((6, 0)), 128)
    (found,) = slender(from_manifold(hoop), 0.8)
    assert found.length == pytest.approx(np.pi * 6, rel=0.04)
    assert slender(from_manifold(hoop), 0.4) == []


def test_a_three_sided_wire_is_slender():
    three = manifold3d.Manifold.extrude(Cross.circle(0.3, 3), 15)
    (found,) = slender(from_manifold(three), 0.8)
    assert found.length == pytest.approx(15, abs=0.9)


def test_what_lies_within_a_way_of_a_skin_is_so_by_the_formula_of_a_box():
    """Distance to a box: elementary geometry."""
    half = np.array([2.0, 1.5, 0.5])
    box = trimesh.creation.box(2 * half).subdivide().subdivide()
    skin = Skin(np.array(box.vertices), np.array(box.faces), np.zeros(len(box.faces), dtype=np.int64))
    spots = np.random.default_rng(7).uniform(-3.0, 3.0, (400, 3))
    over = np.abs(spots) - half
    off = np.where((over < 0).all(axis=1), -over.max(axis=1), np.linalg.norm(np.maximum(over, 0), axis=1))
    for size in (0.1, 0.3, 1.0):
        assert (within(skin, spots, size) == (off < size)).all()
    assert np.allclose(room_at(skin, spots, 0.3), off)
