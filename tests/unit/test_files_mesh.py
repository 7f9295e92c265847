"""The print mesh is closed, welded and the same however the kernel listed its triangles."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from texts import CORNERS, FACES

from posy.compiler.files.mesh import GRID, open_triangles, print_mesh
from posy.compiler.making.result import FeatureInfo
from posy.compiler.measures.triangles import volume
from posy.compiler.metal.part import Part
from posy.lang.faults import Span


def feature(name: str, line: int = 1) -> FeatureInfo:
    return FeatureInfo(name, "bar", Span("piece.posy", line, 1, line, 4))


def cube(size: float = 1.0, at: tuple[float, float, float] = (0, 0, 0), owner: int = 0) -> Part:
    owners = np.full(len(FACES), owner, np.int32)
    points = CORNERS * size + np.array(at)
    return Part("silver-925", points, FACES, owners, size**3, size**3)


def both(one: Part, two: Part) -> Part:
    return Part(
        one.metal, np.concatenate((one.points, two.points)),
        np.concatenate((one.triangles, two.triangles + len(one.points))).astype(np.int32),
        np.concatenate((one.owner, two.owner)), one.volume + two.volume, one.mesh_volume + two.mesh_volume,
    )


def test_a_cube_comes_through() -> None:
    mesh, faults = print_mesh(cube(2.0), [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert mesh.points.dtype == np.float32
    assert mesh.triangles.dtype == np.int32
    assert (len(mesh.points), len(mesh.triangles)) == (8, 12)
    assert mesh.volume == 8.0


def test_unwelded_corners_are_welded() -> None:
    part = cube()
    loose = Part(
        part.metal, part.points[part.triangles].reshape(-1, 3) + 1e-7,
        np.arange(36, dtype=np.int32).reshape(-1, 3), part.owner, 1.0, 1.0,
    )
    mesh, faults = print_mesh(loose, [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert len(mesh.points) == 8


def test_the_order_of_triangles_and_points_does_not_matter() -> None:
    part = both(cube(owner=1), cube(1.0, (3, 0, 0), owner=0))
    rng = np.random.default_rng(7)
    triangles = rng.permutation(len(part.triangles))
    place = rng.permutation(len(part.points))
    points = np.empty_like(part.points)
    points[place] = part.points
    turned = np.array([np.roll(face, k % 3) for k, face in enumerate(part.triangles)])
    shuffled = Part(
        part.metal, points, place[turned[triangles]].astype(np.int32),
        part.owner[triangles], part.volume, part.mesh_volume,
    )  # fmt: skip
    one, _ = print_mesh(part, [feature("a"), feature("b")])
    two, _ = print_mesh(shuffled, [feature("a"), feature("b")])
    assert one is not None
    assert two is not None
    assert one.points.tobytes() == two.points.tobytes()
    assert one.triangles.tobytes() == two.triangles.tobytes()
    assert one.owner.tolist() == two.owner.tolist() == [0] * 12 + [1] * 12


def test_a_sliver_narrower_than_the_grid_is_closed_over() -> None:
    # A point a third of a grid step from a corner: welding takes its two triangles away.
    points = np.concatenate((CORNERS, [[GRID / 3, 0, 0]]))
    faces = FACES[1:].tolist()  # without 0 1 3, which the extra point 8 now splits
    faces.remove([0, 5, 1])
    faces += [[0, 8, 3], [8, 1, 3], [8, 5, 1], [0, 5, 8]]
    triangles = np.array(faces, np.int32)
    part = Part("silver-925", points, triangles, np.zeros(len(triangles), np.int32), 1.0, 1.0)
    assert open_triangles(triangles, 9) is None
    mesh, faults = print_mesh(part, [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert (len(mesh.points), len(mesh.triangles)) == (8, 12)


def test_an_open_mesh_names_its_feature_and_place() -> None:
    part = both(cube(owner=0), cube(1.0, (3, 0, 0), owner=1))
    keep = np.arange(len(part.triangles)) != 12 + 2  # a face of the second cube at x = 3 … 4
    broken = Part(part.metal, part.points, part.triangles[keep], part.owner[keep], 2.0, 2.0)
    mesh, faults = print_mesh(broken, [feature("frame", 3), feature("loop", 5)])
    assert mesh is None
    assert [(fault.code, fault.feature) for fault in faults] == [("mesh-not-closed", "loop")]
    assert faults[0].span is not None
    assert faults[0].span.line == 5
    assert faults[0].place is not None
    assert 3.0 <= faults[0].place[0] <= 4.0


def test_cubes_that_touch_along_an_edge_are_drawn_apart_by_a_hair() -> None:
    # Two pieces to the kernel; a file that names points by their figures must keep them two.
    mesh, faults = print_mesh(both(cube(), cube(1.0, (1, 1, 0))), [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert len(np.unique(mesh.points, axis=0)) == len(mesh.points) == 16
    assert open_triangles(mesh.triangles, 16) is None
    assert abs(mesh.volume - 2.0) < 1e-3


def test_an_edge_shared_by_four_triangles_is_a_fault() -> None:
    part = both(cube(), cube(1.0, (1, 1, 0)))
    points, place = np.unique(part.points, axis=0, return_inverse=True)
    joined = Part(part.metal, points, place[part.triangles].astype(np.int32), part.owner, 2.0, 2.0)
    mesh, faults = print_mesh(joined, [feature("frame")])
    assert mesh is None
    assert [(fault.code, fault.feature) for fault in faults] == [("mesh-not-closed", "frame")]
    assert faults[0].place is not None
    assert max(abs(faults[0].place[k] - 1.0) for k in (0, 1)) <= 1.0


def test_an_inside_out_mesh_and_bad_figures_are_faults() -> None:
    part = cube()
    inside_out = Part(part.metal, part.points, part.triangles[:, ::-1], part.owner, 1.0, 1.0)
    assert [f.code for f in print_mesh(inside_out, [feature("a")])[1]] == ["mesh-not-closed"]
    points = part.points.copy()
    points[3, 1] = np.nan
    not_a_number = Part(part.metal, points, part.triangles, part.owner, 1.0, 1.0)
    assert [f.code for f in print_mesh(not_a_number, [feature("a")])[1]] == ["mesh-not-closed"]
    nothing = Part(part.metal, points[:0], part.triangles[:0], part.owner[:0], 0.0, 0.0)
    assert [f.code for f in print_mesh(nothing, [])[1]] == ["mesh-not-closed"]


@pytest.mark.parametrize("seed", range(12))
def test_near_coincident_solids_of_the_kernel_close(seed: int) -> None:
    rng = np.random.default_rng(seed)
    hair = 10.0 ** rng.uniform(-8, -3)  # tangent and nearly flush on purpose, mm
    metal = [manifold3d.Manifold.cube((10, 5, 2))]
    holes = []
    for _ in range(8):
        x, y = int(rng.integers(0, 11)), int(rng.integers(0, 6))
        dx, dy, dz = hair * rng.normal(size=3)
        ball = manifold3d.Manifold.sphere(1.0, 32)
        metal.append(ball.translate((x + dx, y + dy, 1 + dz)))
        holes.append(manifold3d.Manifold.cylinder(3, 0.5, 0.5, 32).translate((y + dx, x / 2, -dz)))
        holes.append(manifold3d.Manifold.cube((1, 1, 1)).translate((x, y + dy, 1 + dz)))
    add, cut = manifold3d.OpType.Add, manifold3d.OpType.Subtract
    solid = manifold3d.Manifold.batch_boolean(metal, add)
    solid = manifold3d.Manifold.batch_boolean([solid, *holes], cut)
    raw = solid.to_mesh64()
    triangles = np.array(raw.tri_verts, np.int32)
    part = Part(
        "silver-925", np.array(raw.vert_properties)[:, :3], triangles,
        np.zeros(len(triangles), np.int32), solid.volume(), solid.volume(),
    )  # fmt: skip
    mesh, faults = print_mesh(part, [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert len(np.unique(mesh.points, axis=0)) == len(mesh.points)
    assert open_triangles(mesh.triangles, len(mesh.points)) is None
    assert abs(mesh.volume - solid.volume()) < 1e-4 * solid.volume()


def test_shrink_enlarges_about_the_origin() -> None:
    mesh, _ = print_mesh(cube(2.0), [feature("frame")], shrink=0.0125)
    assert mesh is not None
    assert abs(float(mesh.points.max()) - 2.0 / 0.9875) < GRID
    assert abs(mesh.volume - 8.0 / 0.9875**3) < 1e-3


def test_volume_keeps_its_digits_far_from_the_origin() -> None:
    far = CORNERS + 1000.0
    assert abs(volume(far, FACES) - 1.0) < 1e-9


def test_a_triangle_of_three_points_on_one_line_is_turned_away() -> None:
    """A spot on one side of a face, that the neighbour over the edge knows nothing of."""
    spot = len(CORNERS)
    points = np.concatenate((CORNERS * 10, [[0.0, 3.7, 10.0]]))
    faces = [face for face in FACES.tolist() if face != [0, 1, 3]]
    faces += [[0, 1, spot], [0, spot, 3], [1, 3, spot]]  # the last has no area
    owner = np.array([0] * 13 + [1], np.int32)
    part = Part("silver-925", points, np.array(faces, np.int32), owner, 1000.0, 1000.0)
    mesh, faults = print_mesh(part, [feature("frame"), feature("spot", 2)])
    assert faults == []
    assert mesh is not None
    assert len(mesh.triangles) == 14  # Euler: 2 (9 - 2) triangles on 9 points
    assert open_triangles(mesh.triangles, len(mesh.points)) is None
    assert areas(mesh.points, mesh.triangles).min() > 0
    assert mesh.volume == pytest.approx(1000.0, rel=1e-12)


def areas(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (points[triangles[:, k]].astype(np.float64) for k in range(3))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


def test_a_narrow_triangle_that_has_area_stays() -> None:
    part = cube(10.0)
    narrow = Part(part.metal, part.points.copy(), part.triangles, part.owner, 1000.0, 1000.0)
    narrow.points[3] = narrow.points[1] + (0, 2 * GRID, 0)
    narrow.points[7] = narrow.points[5] + (0, 2 * GRID, 0)
    mesh, faults = print_mesh(narrow, [feature("frame")])
    assert faults == []
    assert mesh is not None
    assert len(mesh.triangles) == 12
