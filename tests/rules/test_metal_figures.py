"""Figures of the rules on metal against general-purpose references and closed forms.

Centre of mass and hang: trimesh's integrals and elementary statics. Shared volume of stones:
scipy's half-space intersection. Metal below and beside a seat: rays by Moeller and Trumbore,
written here. Section modulus: the textbook's w t^2 / 6."""

import math
from functools import cache

import numpy as np
import pytest
import trimesh
from rule_cases import CASES
from scipy.spatial import ConvexHull, HalfspaceIntersection

from posy.compiler.making import pipeline as build
from posy.stdlib.alloys import ALLOYS
from posy.stdlib.gems import GEMS


@cache
def piece_of(name):
    kept = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "on_metal", lambda piece, rules, go_on=None: kept.append(piece) or [])
        build.build(str(CASES / f"{name}.posy"))
    return kept[-1]


def mesh_of(piece):
    (part,) = piece.parts
    return trimesh.Trimesh(part.points, part.triangles, process=False)


def finding(name):
    from posy.compiler.rules import all_rules

    found = list(all_rules()[name.split(".")[0]].check(piece_of(name)))
    assert len(found) == 1
    return found[0]


# -- weight and statics ------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["tips-forward", "stone-in-metal", "top-heavy", "slack-loop"])
def test_weight_and_centre_of_mass_are_those_of_trimesh(name):
    piece = piece_of(name)
    mesh = mesh_of(piece)
    total = mesh.volume * ALLOYS[piece.parts[0].metal].density / 1000
    moment = total * mesh.center_mass
    for group, _, solid in piece.stone_solids:
        out = solid.to_mesh64()
        stone = trimesh.Trimesh(np.array(out.vert_properties)[:, :3], np.array(out.tri_verts))
        grams = abs(stone.volume) * GEMS[group.setting.gem].density / 1000
        total, moment = total + grams, moment + grams * stone.center_mass
    grams, centre = piece.wear_measures.centre
    assert grams == pytest.approx(total, rel=1e-6)
    assert centre == pytest.approx(moment / total, abs=1e-5)


def test_tip_is_the_angle_of_the_line_from_the_loop_to_the_centre():
    centre = mesh_of(piece_of("tips-forward")).center_mass
    # The chain bears on the top of the inside: 6.2 + 1 mm up, 1.66 mm out.
    tilt = math.degrees(math.atan2(1.66 - centre[2], 7.2 - centre[1]))
    assert finding("tips-forward").figure == pytest.approx(tilt, abs=1e-3)


def test_lean_is_the_angle_to_the_side():
    centre = mesh_of(piece_of("leans")).center_mass
    lean = math.degrees(math.atan2(centre[0] + 0.26, 7.2 - centre[1]))
    assert finding("leans").figure == pytest.approx(lean, abs=1e-3)


def test_an_l_plate_hangs_as_the_sum_of_its_bars_says():
    # An upright of 2 x 12 x 1 mm and a foot of 6 x 2 x 1 mm beside it: closed form.
    text = """piece "Ell"
  metal silver-925
bar upright: size 2 x 12 x 1 mm
bar foot: size 6 x 2 x 1 mm, right 4 mm, down 5 mm
"""
    from posy.lang.loader import Texts

    kept = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "on_metal", lambda piece, rules, go_on=None: kept.append(piece) or [])
        build.build("ell.posy", files=Texts({"ell.posy": text}))
    grams, centre = kept[-1].wear_measures.centre
    assert grams == pytest.approx(36 * 10.36 / 1000, rel=1e-3)
    assert centre == pytest.approx([4 * 12 / 36, -5 * 12 / 36, 0.5], abs=1e-6)


def test_the_load_on_two_loops_goes_by_the_lever():
    centre = mesh_of(piece_of("slack-loop")).center_mass
    pull = math.cos(math.radians(45))  # each chain bears on the outer upper side of its loop
    left, right = -4 - pull, 4.4 + pull
    share = (right - centre[0]) / (right - left)
    assert finding("slack-loop").figure == pytest.approx(share, abs=1e-3)


def test_height_of_the_support_over_the_centre():
    piece = piece_of("top-heavy")
    mesh = mesh_of(piece)
    above = -1.5 + math.sin(math.radians(45)) - mesh.center_mass[1]
    height = mesh.bounds[1, 1] - mesh.bounds[0, 1]
    assert finding("top-heavy").figure == pytest.approx(above / height, abs=1e-4)


# -- stones ------------------------------------------------------------------------------------


def half_spaces(solid):
    points = np.array(solid.to_mesh64().vert_properties)[:, :3]
    return ConvexHull(points).equations


def test_shared_volume_of_two_stones_is_that_of_scipy():
    piece = piece_of("stone-overlap")
    both = np.concatenate([half_spaces(entry[2]) for entry in piece.stone_solids])
    corners = HalfspaceIntersection(both, np.array([0.0, 0.0, 0.0])).intersections
    volume = ConvexHull(corners).volume
    assert finding("stone-overlap").figure == pytest.approx(volume, rel=1e-6)


def test_culet_depth_is_body_less_pavilion():
    piece = piece_of("culet-through")
    ((_, _, solid),) = piece.stone_solids
    low = np.array(solid.to_mesh64().vert_properties)[:, 2].min()
    assert finding("culet-through").figure == pytest.approx(1.62 + low, abs=1e-9)


def crossings(mesh, start, way):
    """Distances at which one ray meets a mesh (Moeller and Trumbore 1997), sorted."""
    a, b, c = (mesh.triangles[:, k] for k in range(3))
    p = np.cross(way, c - a)
    size = ((b - a) * p).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = ((start - a) * p).sum(axis=1) / size
        q = np.cross(start - a, b - a)
        v = (way * q).sum(axis=1) / size
        far = ((c - a) * q).sum(axis=1) / size
        hit = (np.abs(size) > 1e-12) & (u >= 0) & (v >= 0) & (u + v <= 1) & (far > 1e-9)
    return np.unique(np.round(far[hit], 7))


def test_metal_below_a_bearing_by_rays():
    mesh = mesh_of(piece_of("thin-bearing"))
    found = []
    for degrees in np.arange(0.37, 360, 3):
        turn = math.radians(degrees)
        for ring in np.linspace(0.554, 0.97, 40):
            start = np.array([math.cos(turn), math.sin(turn), 0]) * 1.5 * ring
            met = crossings(mesh, start - (0, 0, 1e-3), np.array([0, 0, -1.0]))
            if len(met) >= 2:
                found.append(met[1] - met[0])
    assert finding("thin-bearing").figure == pytest.approx(min(found), abs=0.01)


def test_metal_below_a_closed_seat_by_a_ray_through_its_point():
    piece = piece_of("thin-bearing.blind")
    spot = piece.stones.frames[0][:, 3] + (1e-3, 1e-3, -1e-3)
    met = crossings(mesh_of(piece), spot, np.array([0, 0, -1.0]))
    assert finding("thin-bearing.blind").figure == pytest.approx(met[1] - met[0], abs=0.01)


def test_metal_beside_a_stone_by_rays():
    piece = piece_of("thin-beside")
    mesh, form = mesh_of(piece), piece.stone_measures.form(0)
    found = []
    for degrees in [*np.arange(80.3, 100, 0.5), *np.arange(260.3, 280, 0.5)]:
        turn = math.radians(degrees)
        way = np.array([math.cos(turn), math.sin(turn), 0])
        met = crossings(mesh, np.array([0, 0, form.heights[0]]), way)
        found.append(met[1] - met[0])
    assert finding("thin-beside").figure == pytest.approx(min(found), abs=0.01)


def test_the_free_arc_between_wires_by_the_law_of_cosines():
    cosine = (1.5**2 + 1.725**2 - 0.45**2) / (2 * 1.5 * 1.725)
    free = 360 - 2 * 72 - 2 * math.degrees(math.acos(cosine))
    assert finding("loose-stone").figure == pytest.approx(free, abs=2)  # lines every 2 degrees


# -- strength ----------------------------------------------------------------------------------


def test_section_modulus_of_a_flat_band_is_the_textbooks():
    sections = piece_of("weak-shank.near").wear_measures.sections
    assert len(sections) == 36
    for section in sections:
        assert section.modulus == pytest.approx(2.4 * 1.8**2 / 6, rel=2e-3)
        assert section.area == pytest.approx(2.4 * 1.8, rel=2e-3)


def test_a_drilled_section_is_the_rest_of_the_band():
    assert finding("weak-shank").figure == pytest.approx(((2.4 - 1.85) * 1.8**2) ** (1 / 3), rel=1e-3)


def test_joined_area_of_a_prong_is_side_and_foot():
    # A wire of 0.9 mm let in 0.2 mm; facets of the round tip cost up to 0.5 % of its surface.
    assert finding_of_first("footless-prong") == pytest.approx(1 + 4 * 0.2 / 0.9, abs=0.06)


def finding_of_first(name):
    return piece_of(name).stone_measures.roots[0].figure


# -- what must stay silent ---------------------------------------------------------------------


def made(text):
    from posy.lang.loader import Texts

    kept = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "on_metal", lambda piece, rules, go_on=None: kept.append(piece) or [])
        build.build("piece.posy", files=Texts({"piece.posy": text}))
    return kept[-1]


def test_a_stone_that_stands_proud_of_a_curved_band_is_not_broken_out():
    piece = made("""piece "Proud"
  metal gold-585-rose
band shank: inside 17 mm, wide 4.4 mm, thick 2.2 mm, profile flat
stone gem-stone: round 3.2 mm, gem rhodolite, at top of shank, out 0.15 mm
seat: for gem-stone, in shank, hole 50 %
""")
    (around,) = piece.stone_measures.surrounds
    assert around.broken == 0


def test_alloys_let_into_one_another_are_one_body():
    piece = made("""piece "Inlay"
  metal silver-925
bar rail: size 4 x 2 x 1 mm, out 0.5 mm, metal gold-585-yellow
bar ground: size 10 x 6 x 1.5 mm
""")
    assert len(piece.parts) == 2
    (body,) = piece.casting_measures.castings[0].bodies
    assert body.volume == pytest.approx(10 * 6 * 1.5, rel=1e-9)
    assert set(body.owners) <= {0, 1}


def test_a_mirrored_stone_is_measured_as_its_twin():
    piece = made("""piece "Twins"
  metal gold-750-yellow
workpiece half
  stone pear-stone: pear 5 x 3 mm, gem sapphire, right 4 mm, turn 25 deg
  disc tray: across 8 mm, thick 3 mm, under pear-stone
  seat: for pear-stone, in tray
  prong claws: for pear-stone, wire 0.9 mm
mirror other: of half, swap left-right
""")
    one, two = piece.stone_measures.surrounds
    assert len(one.laps) == len(two.laps) > 2
    assert one.grip == pytest.approx(two.grip, abs=0.01)
    assert one.free == pytest.approx(two.free, abs=4)
    assert one.beside.figure == pytest.approx(two.beside.figure, abs=0.02)
