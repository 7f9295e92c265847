"""Slices, islands, overhangs, cups and props against shapes whose answers are known.

Sources: solid geometry (Euclid; circles, spheres, prisms); the kernel's own exact slices; trimesh for the
meshes; the standard atmosphere, 101,325 Pa (CGPM 1954)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold, Mesh64
from texts import solid_of

from posy.compiler.making.pipeline import build
from posy.compiler.printing.cups import afloat, cups
from posy.compiler.printing.files import print_files
from posy.compiler.printing.layers import layers_of
from posy.compiler.printing.overhangs import hanging
from posy.compiler.printing.plan import print_plans
from posy.compiler.printing.plate import laid_out
from posy.compiler.printing.printer import printer_of

EXAMPLES = Path(__file__).parents[2] / "examples"
PIXEL = 0.05


def box(x, y, z, at=(0, 0, 0)):
    return Manifold.cube((x, y, z)).translate(at)


def rod(radius, high, at=(0, 0, 0)):
    return Manifold.cylinder(high, radius, circular_segments=128).translate(at)


def laid(solid, pixel=PIXEL, height=0.05):
    mesh = solid.to_mesh64()
    return layers_of(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64), pixel, height)


def test_slices_of_a_ball_are_circles():
    layers = laid(Manifold.sphere(4.0, 256), pixel=0.03)
    z = -4.0 + (np.arange(len(layers.areas)) + 0.5) * layers.height
    inside = np.abs(z) < 3.5
    assert layers.areas[inside] == pytest.approx(np.pi * (16 - z[inside] ** 2), rel=0.005)
    assert layers.volume == pytest.approx(4 / 3 * np.pi * 64, rel=0.005)


@pytest.mark.parametrize("name", ["fern-studs", "orbit-medal"])
def test_slices_and_resin_of_pieces_against_the_kernel(name):
    part = build(str(EXAMPLES / f"{name}.posy"), check_metal=False).parts[0]
    layers = layers_of(part.points, part.triangles.astype(np.int64), 0.03, 0.02)
    solid = solid_of(part)
    assert layers.volume == pytest.approx(trimesh.Trimesh(part.points, part.triangles).volume, rel=0.005)
    for k in range(5, layers.solid.shape[2] - 5, max(layers.solid.shape[2] // 7, 1)):
        z = float(layers.low[2]) + k * layers.height
        # Where a face lies level in the layer, on either side of it.
        areas = [solid.slice(z + share * layers.height).area() for share in (-0.5, 0.0, 0.5)]
        slack = 0.005 * max(areas) + 0.01 * layers.solid.shape[0] * PIXEL  # a rim of half-counted pixels
        assert min(areas) - slack <= layers.areas[k] <= max(areas) + slack


# name, solid, islands, overhangs: raised off the plate, so that what stands lowest is an island too.
SHAPES = [
    ("a block", box(2, 2, 2), 1, 0),
    ("a tee", box(1, 1, 3) + box(5, 1, 1, (-2, 0, 3)), 1, 2),
    ("a table of four legs", box(6, 6, 1, (0, 0, 3)) + sum((box(1, 1, 3, (x, y, 0)) for x in (0, 5) for y in (0, 5)), Manifold()), 4, 1),
    ("an arch", box(6, 1, 4) - box(4, 1, 3, (1, 0, 0)), 2, 1),
    ("a drop hanging in an arch", (box(6, 1, 4) - box(4, 1, 3, (1, 0, 0))) + box(0.5, 1, 1, (2.75, 0, 2)), 3, 2),
    ("a cone on its point", Manifold.cylinder(3, 0.02, 2.0, circular_segments=64), 1, 0),
    ("a cone on its base", Manifold.cylinder(3, 2.0, 0.02, circular_segments=64), 1, 0),
    ("two blocks apart", box(1, 1, 1) + box(1, 1, 1, (3, 0, 1)), 2, 0),
    ("a comb, teeth down", box(7, 1, 1, (0, 0, 2)) + sum((box(1, 1, 2, (x, 0, 0)) for x in (0, 3, 6)), Manifold()), 3, 2),
    ("a stair", box(1, 2, 3) + box(1, 2, 1, (1, 0, 2)) , 1, 1),
]  # fmt: skip


@pytest.mark.parametrize(("name", "solid", "islands", "overhangs"), SHAPES, ids=[row[0] for row in SHAPES])
def test_islands_and_overhangs_of_known_shapes(name, solid, islands, overhangs):
    found = hanging(laid(solid), slope=30.0, least=0.5, on_plate=False)
    assert sum(patch.island for patch in found) == islands
    assert sum(not patch.island for patch in found) == overhangs


def test_on_the_plate_the_lowest_layer_is_held():
    layers = laid(SHAPES[0][1])
    assert hanging(layers, 30.0, 0.5, on_plate=False) and not hanging(layers, 30.0, 0.5, on_plate=True)


@pytest.mark.parametrize(("slope", "told"), [(15, True), (24, True), (37, False), (60, False)])
def test_a_wedge_hangs_out_by_its_angle(slope, told):
    """A face that rises by ``slope`` degrees from the level, 30 being the least that prints by itself."""
    wide = 3.0 / np.tan(np.radians(slope))
    wedge = box(2, 2, 0.2) + Manifold.hull_points(
        [(2, y, z) for y in (0, 2) for z in (0.2, 3.2)] + [(2 + wide, y, 3.2) for y in (0, 2)]
    )
    found = [patch for patch in hanging(laid(wedge), 30.0, 0.5, on_plate=True) if not patch.island]
    assert bool(found) is told
    if told:
        assert sum(patch.area for patch in found) == pytest.approx(2 * wide, rel=0.1)


def test_a_bowl_is_a_cup_by_how_it_lies():
    bowl = rod(3, 4) - rod(2.5, 3.5, (0, 0, 0.5))
    found = cups(laid(bowl), on_plate=False, least=1.0)  # open away from the plate: to the film
    assert len(found) == 1
    assert found[0].area == pytest.approx(np.pi * 2.5**2, rel=0.01)
    assert found[0].pull == pytest.approx(found[0].area * 0.101325)
    turned = bowl.rotate((180, 0, 0)).translate((0, 0, 4))
    assert not cups(laid(turned), on_plate=False, least=1.0)  # raised: air comes in from below
    assert cups(laid(turned), on_plate=True, least=1.0)  # the plate shuts it


def test_a_vent_opens_a_cup():
    bowl = rod(3, 4) - rod(2.5, 3.5, (0, 0, 0.5))
    vented = bowl - rod(0.5, 8).rotate((90, 0, 0)).translate((0, 4, 0.9))
    assert not [cup for cup in cups(laid(vented), False, 1.0) if cup.layer > 30]


@pytest.fixture(scope="module", params=["terrace-row", "fern-studs", "orbit-medal"])
def planned(request):
    built = build(str(EXAMPLES / f"{request.param}.posy"), check_metal=False, worn=True)
    return built, print_plans(built, printer_of())


def test_props_hold_all_and_are_closed_meshes(planned):
    built, plans = planned
    for plan in plans:
        assert plan.props and not plan.left
        mesh = trimesh.Trimesh(*plan.props_mesh, process=False)
        assert mesh.is_watertight and mesh.volume == pytest.approx(plan.resin_props, rel=1e-6)
        assert plan.resin == pytest.approx(sum(part.mesh_volume for part in built.parts if part.metal == plan.metal and part.casting == plan.casting), rel=1e-6)


def touched(built, plan):
    """Roles of the faces that props share with the piece: the kernel's own intersection."""
    part = next(part for part in built.parts if (part.casting, part.metal) == (plan.casting, plan.metal))
    key = Manifold.reserve_ids(1)
    piece = Mesh64(
        plan.mesh[0], plan.mesh[1].astype(np.uint64), run_index=np.array([0, plan.mesh[1].size]),
        run_original_id=np.array([key]), face_id=np.arange(len(plan.mesh[1]), dtype=np.uint64),
    )  # fmt: skip
    held = Mesh64(plan.props_mesh[0], plan.props_mesh[1].astype(np.uint64))
    shared = (Manifold(piece) ^ Manifold(held)).to_mesh64()
    runs = zip(shared.run_original_id, shared.run_index, shared.run_index[1:], strict=False)
    faces = np.concatenate([shared.face_id[first // 3 : last // 3] for run, first, last in runs if run == key])
    assert len(faces)
    return {owner: built.features[owner].roles for owner in np.unique(part.owner[faces.astype(int)]).tolist()}


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.posy")), ids=lambda path: path.stem)
def test_no_prop_touches_seats_beads_or_letters(path, tmp_path):
    """Over the whole gallery; grains are what bead settings raise, less the metal they rise from. Printed
    coarsely, as that is quicker; what is touched is seen on the metal itself all the same."""
    assert printer_of().sizes.tip < 0.4
    (tmp_path / "bench.toml").write_text('[printer]\npixel = "0.12 mm"\nlayer = "0.1 mm"\n')
    house = build(_block(tmp_path), check_metal=False).house
    built = build(str(path), check_metal=False, worn=True, tolerance=0.03)
    for plan in print_plans(built, printer_of(house)):
        assert plan.props and not plan.afloat
        for owner, roles in touched(built, plan).items():
            assert not roles & {"seat", "beaded-edge", "engraving"}, built.features[owner].name
            assert "grains" not in roles or roles & {"body", "cut"}, built.features[owner].name
            if "bead" in roles:  # a ball as wide as a drop is a body
                assert built.piece.call(owner).get("across") > 2.0, built.features[owner].name


def _block(folder):
    text = folder / "block.posy"
    text.write_text('piece "Block"\n  metal silver-925\n\nbar block: size 10 x 6 x 2 mm\n')
    return str(text)


def test_what_grows_on_nothing_is_afloat_until_it_is_held():
    """A plate of 4 x 4 mm beside a post, joined to it by a bridge 2 mm up: 16 mm2 until then."""
    solid = box(1, 1, 4) + box(4, 4, 1, (3, 0, 1)) + box(3, 1, 1, (1, 0, 2)) + box(1, 1, 1, (3, 0, 2))
    layers = laid(solid)
    ((part, cells),) = afloat(layers, layers.lowest, least=1.0)
    assert part.area == pytest.approx(16.0, rel=0.03)
    assert layers.at(cells)[:, 2] == pytest.approx(1.0 + PIXEL / 2, abs=0.03) and len(cells) * PIXEL**2 == pytest.approx(16, rel=0.03)
    assert not afloat(layers, np.concatenate((layers.lowest, cells[:1])), least=1.0)


def test_a_disc_under_milgrain_alone_is_told_as_not_held(tmp_path):
    """Beads below a bead: no prop may stand anywhere on it."""
    work = "ball bead: across 1.5 mm\nball low: across 1.2 mm, down 0.9 mm\n"
    assert "island" in _prints(tmp_path, work)
    assert "island" not in _prints(tmp_path, work, '[printer]\nball = "0 mm"\n')


def test_the_way_up_is_the_least_filing_of_those_weighed(planned):
    for plan in planned[1]:
        straight = [way for way in plan.ways if way.tilt < 1.0]
        assert plan.way.filing <= min((way.filing for way in straight), default=np.inf)
        turned = plan.way.turn
        assert turned @ turned.T == pytest.approx(np.eye(3), abs=1e-9) and np.linalg.det(turned) == pytest.approx(1.0)


def test_the_files_of_a_print_are_closed(planned, tmp_path):
    built, plans = planned
    files, faults = print_files(plans, built, printer_of(), "piece")
    assert not faults
    for name, data in files.items():
        mesh = trimesh.load(io.BytesIO(data), file_type="stl")
        assert mesh.is_watertight, name
    assert any(name.startswith("piece-print") for name in files) and any("props" in name for name in files)


def test_a_print_is_larger_by_what_shrinks(tmp_path):
    """Resin 1 % along the plate and 2 % up, metal 1.5 %: lengths over (1 - share), one after the other."""
    (tmp_path / "bench.toml").write_text(
        '[printer]\nshrink-across = "1 %"\nshrink-up = "2 %"\nshrink-metal = "1.5 %"\nbar = "20 mm"\n'
    )
    built = build(_block(tmp_path), check_metal=False, worn=True)
    printer = printer_of(built.house)
    (plan,) = print_plans(built, printer)
    exact = 120.0 / (0.99**2 * 0.98 * 0.985**3)
    assert plan.resin == pytest.approx(exact, rel=1e-6)
    back = plan.stood.back(plan.mesh[0])
    assert back == pytest.approx(built.parts[0].points, abs=1e-9)
    files, _ = print_files([plan], built, printer, "block")
    (bar,) = (trimesh.load(io.BytesIO(data), file_type="stl") for name, data in files.items() if "-bar" in name)
    assert bar.extents[0] == pytest.approx(20.0 / (0.99 * 0.985), rel=1e-6)
    assert any("pc-larger" in name for name in files)


def test_a_plate_holds_what_fits_and_nothing_lies_on_another():
    rng = np.random.default_rng(7)
    sizes = [np.append(rng.uniform(5, 30, 2), 10.0) for _ in range(14)]
    spots = laid_out(sizes, 120.0, 68.0)
    boxes = []
    for size, spot in zip(sizes, spots, strict=True):
        if spot is not None:
            half = (size[1::-1] if spot.turned else size[:2]) / 2
            low, high = np.array((spot.x, spot.y)) - half, np.array((spot.x, spot.y)) + half
            assert (low > 0).all() and (high < (120.0, 68.0)).all()
            assert all((low >= b).any() or (high <= a).any() for a, b in boxes)
            boxes.append((low, high))
    assert len(boxes) >= 7
    assert laid_out([np.array((200.0, 5.0, 5.0))], 120.0, 68.0) == [None]


def _prints(tmp_path, work: str, house: str = "") -> set[str]:
    """Names of the remarks that posy cast makes of a piece."""
    from posy.compiler.printing.seen import seen

    (tmp_path / "bench.toml").write_text(house)
    text = tmp_path / "piece.posy"
    text.write_text(f'piece "Piece"\n  metal silver-925\n\n{work}')

    def pour(built, piece):
        printer = printer_of(built.house)
        piece.prints = tuple(seen(plan, printer) for plan in print_plans(built, printer))
        return ()

    return {fault.code for fault in build(str(text), check_metal=False, worn=True, pour=pour).faults}


ON_PLATE = '[printer]\nlift = "0 mm"\n'
RULES = [
    ("first-layer", "ball grain: across 4 mm\n", ON_PLATE, "bar block: size 4 x 4 x 4 mm\n", ON_PLATE),
    ("off-plate", "bar long: size 60 x 50 x 2 mm\n", '[printer]\nwide = "30 mm"\ndeep = "30 mm"\ntall = "30 mm"\n', "bar long: size 20 x 5 x 2 mm\n", ""),
    ("under-pixel", "bar block: size 8 x 5 x 2 mm\nbar fin: size 6 x 0.25 x 2 mm, at face of block\n", '[printer]\npixel = "0.3 mm"\nlayer = "0.1 mm"\n', "bar block: size 8 x 5 x 2 mm\nbar fin: size 6 x 1.2 x 2 mm, at face of block\n", '[printer]\npixel = "0.3 mm"\nlayer = "0.1 mm"\n'),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "work", "house", "other", "others"), RULES, ids=[row[0] for row in RULES])
def test_rules_of_printing_and_their_near_misses(tmp_path, rule, work, house, other, others):
    assert rule in _prints(tmp_path, work, house)
    assert rule not in _prints(tmp_path, other, others)
