"""Fast ways of joining give what the kernel alone gives: volume, holes, closure, owners, weight."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from posy.compiler.bench.piece_bench import PieceBench
from posy.compiler.bench.plan import Shape
from posy.compiler.files.mesh import print_mesh
from posy.compiler.files.meshes import stl_bytes
from posy.compiler.making.pipeline import _laid_out
from posy.compiler.metal import cells, strips
from posy.compiler.metal.copies import Copies, placed, solids_of
from posy.compiler.metal.items import Metal
from posy.compiler.metal.kernel import Readout, box, join, solid_of
from posy.compiler.metal.locality import apart, colours, met, pairs
from posy.compiler.metal.memo import Memo
from posy.compiler.metal.owners import LEAST_ID, Owner, Owners
from posy.compiler.metal.part import Part
from posy.compiler.metal.solids import Workshop
from posy.compiler.shapes.makers import make
from posy.lang.faults import is_fatal

TOLERANCE = 0.02
BAR = "bar frame: size 24 x 5 x 2.4 mm, corner 0.6 mm\n"
EDGE = "bead-line edge: along rim of frame, bead 0.45 mm, inset 0.3 mm\n"
# Text after the head, and whether its runs are laid as strips.
PIECES = {
    "round a rim": (BAR + EDGE, True),
    "hollow, set": (
        "stone row: round 2 mm, gem garnet, row 9, every 2.2 mm, out 2 mm\n" + BAR
        + "hollow back: in frame, wall 0.9 mm, roof 1.1 mm\nseat: for row, in frame\n"
        + "prong claws: for row, shared, wire 0.7 mm\n" + EDGE, True,
    ),
    "something stands in the row": (BAR + EDGE + "rod post: right 2 mm, up 2.2 mm, wire 0.8 mm, long 4 mm\n", True),
    "a second alloy": (BAR + EDGE + "disc spot: right 3 mm, across 2 mm, thick 3 mm, metal gold-585-yellow\n", False),
    "apart from one another": (BAR + "ball dots: row 30, every 0.7 mm, up 1 mm, across 0.5 mm, out 2.15 mm\n", True),
    "deep in one another": (BAR + "ball dots: row 60, every 0.3 mm, up 1 mm, across 0.8 mm, out 2.1 mm\n", True),
    "two rows that cross": (
        BAR + "ball dots: row 40, every 0.4 mm, across 0.5 mm, out 2.15 mm\n"
        "ball more: row 40, every 0.4 mm, up 0.3 mm, across 0.5 mm, out 2.15 mm\n", False,
    ),
    "turned and tilted": (
        "bar frame: size 24 x 5 x 2.4 mm, corner 0.6 mm, turn 33 deg, tilt 20 deg\n" + EDGE, True,
    ),
    "rings that reach through one another": (
        BAR + "jump-ring links: row 30, every 0.7 mm, wire 0.4 mm, inside 1.2 mm, out 2.35 mm\n", False,
    ),
    "combs that lean": (BAR + "rod pegs: row 40, every 0.5 mm, lean 40 deg, wire 0.4 mm, long 2 mm, out 1.6 mm, tip round\n", False),
    "a small row inside a large one": (
        BAR + "ball dots: row 40, every 0.45 mm, across 0.6 mm, out 2.15 mm\n"
        "ball dust: row 40, every 0.45 mm, up 0.25 mm, right 0.2 mm, across 0.2 mm, out 2.4 mm\n", False,
    ),
    "rings inside a row": (
        BAR + "ball dots: row 40, every 0.45 mm, across 0.6 mm, out 2.15 mm\n"
        "jump-ring dust: row 30, every 0.1 mm, up 0.22 mm, wire 0.03 mm, inside 0.1 mm, out 2.41 mm\n", False,
    ),
    "rods right through": (BAR + "rod pegs: row 30, every 0.7 mm, wire 0.4 mm, long 3 mm\n", False),
    "not in metal all round": (
        BAR + "drill gap: right 2 mm, up 2.2 mm, out 3 mm, across 0.6 mm, in frame\n" + EDGE, True,
    ),
    "past the end of the face": (BAR + "ball dots: row 60, every 0.45 mm, across 0.5 mm, out 2.15 mm\n", True),
    "on a slope there is no flat": ("ball whole: across 12 mm\nball dots: row 30, every 0.3 mm, across 0.3 mm, out 11.9 mm\n", False),
}  # fmt: skip


def laid_out(text: str, folder: Path) -> PieceBench:
    path = folder / "piece.posy"
    path.write_text(f'piece "Trial"\n  metal silver-925\n{text}', encoding="utf-8")
    built, piece = _laid_out(str(path), {}, None, None)
    assert not is_fatal(built.faults), built.faults
    return piece.bench


def finished(bench: PieceBench, *, plain: bool) -> dict[str, tuple[Metal, np.ndarray]]:
    shop = Workshop(Memo(), TOLERANCE, bench.metal, plain=plain)
    metals = shop.finished(bench.plan().steps)
    return {name: (metal, metal.mesh.part(name, shop.owners).owner) for name, metal in metals.items()}


@pytest.mark.parametrize("name", PIECES)
def test_as_the_kernel_alone(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text, expected = PIECES[name]
    used = []
    sewn = strips.sewn
    monkeypatch.setattr(strips, "sewn", lambda *a: used.append(sewn(*a)) or used[-1])
    bench = laid_out(text, tmp_path)
    fast, plain = finished(bench, plain=False), finished(bench, plain=True)
    assert any(made is not None for made in used) == expected
    check_alike(bench, fast, plain, within=1e-9)


Finished = dict[str, tuple[Metal, np.ndarray]]


def check_alike(bench: PieceBench, fast: Finished, plain: Finished, *, within: float) -> None:
    """The same alloys, volumes (``within`` such a share), holes, bodies, and area of each feature;
    closed as print software reads it."""
    assert list(fast) == list(plain)
    for metal, (mine, owner) in fast.items():
        other, other_owner = plain[metal]
        assert mine.mesh.mesh_volume == pytest.approx(other.mesh.mesh_volume, rel=within)
        assert mine.mesh.volume == pytest.approx(other.mesh.volume, rel=1e-8)
        assert mine.solid().volume() == pytest.approx(other.solid().volume(), rel=within)
        assert len(mine.solid().decompose()) == len(other.solid().decompose())
        assert mine.solid().genus() == other.solid().genus()
        check_areas(mine, owner, other, other_owner)
        check_stl(mine.mesh.part(metal, Owners(bench.plan().steps)))


def check_areas(mine: Metal, owner: np.ndarray, other: Metal, other_owner: np.ndarray) -> None:
    """Each feature shows the same area."""
    for feature in np.union1d(owner, other_owner):
        shown = areas(mine)[owner == feature].sum()
        assert shown == pytest.approx(areas(other)[other_owner == feature].sum(), rel=1e-7)


def areas(metal: Metal) -> np.ndarray:
    a, b, c = (metal.mesh.points[metal.mesh.triangles[:, k]] for k in range(3))
    return 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)


def check_stl(part: Part) -> None:
    """Closed after the trip through single precision, as print software reads it (trimesh)."""
    mesh, faults = print_mesh(part, ())
    assert mesh is not None, faults
    back = trimesh.load(io.BytesIO(stl_bytes(mesh)), file_type="stl")
    assert back.is_watertight and back.is_winding_consistent
    assert back.volume == pytest.approx(part.mesh_volume, rel=1e-4)


def test_a_run_without_a_cell_is_given_to_the_kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = laid_out(PIECES["round a rim"][0], tmp_path)
    plain = finished(bench, plain=True)["silver-925"][0].mesh
    for room, name in ((cells, "_new_cell"), (strips, "sewn")):
        with monkeypatch.context() as patch:
            patch.setattr(room, name, lambda *_: None)
            made = finished(bench, plain=False)["silver-925"][0].mesh
        assert np.array_equal(made.points, plain.points)
        assert np.array_equal(made.triangles, plain.triangles)


def test_a_seam_of_another_volume_is_given_to_the_kernel(tmp_path, monkeypatch):
    bench = laid_out(PIECES["round a rim"][0], tmp_path)
    plain = finished(bench, plain=True)["silver-925"][0].mesh
    sewn = strips.sewn

    def swollen(*given):  # type: ignore[no-untyped-def]
        made = sewn(*given)
        return Readout(1.001 * made.points, made.triangles, made.mark, made.face, made.cut)

    monkeypatch.setattr(strips, "sewn", swollen)
    made = finished(bench, plain=False)["silver-925"][0].mesh
    assert np.array_equal(made.points, plain.points)


@pytest.mark.parametrize("seed", range(5))
def test_boxes_of_one_colour_never_meet(seed: int) -> None:
    dice = np.random.default_rng(seed)
    low = dice.uniform(0, 10, (300, 3))
    boxes = np.concatenate([low, low + dice.uniform(0.1, 1.5, (300, 3))], axis=1)
    meet = (boxes[:, None, :3] <= boxes[None, :, 3:]).all(axis=2)
    meet &= meet.T
    found = pairs(boxes)
    assert found is not None
    assert {tuple(sorted(p)) for p in found.tolist()} == {
        (i, j) for i in range(300) for j in range(i + 1, 300) if meet[i, j]
    }
    colour = colours(found, len(boxes))
    assert not (meet & (colour[:, None] == colour[None]) & ~np.eye(300, dtype=bool)).any()
    reached = met(boxes[:200], boxes[200:])
    assert reached is not None and np.array_equal(reached, meet[:200, 200:].any(axis=1))


def test_copies_that_meet_are_not_put_into_one_solid() -> None:
    """One mesh of overlapping copies is taken by the kernel without a word and has too much
    volume; the union of two balls half a diameter apart is known (two caps: pi h2 (3 r - h) / 3)."""
    mesh = make("ball", (2.0,), 0.001)
    frames = np.repeat(np.eye(3, 4)[None], 3, axis=0)
    frames[:, 0, 3] = (0.0, 1.0, 9.0)
    solids = solids_of([Copies(Owner("k", 1 << 27, 0, 0, Shape("ball", (2.0,))), mesh, frames)])
    ball, cap = 4 / 3 * np.pi, np.pi * 0.5**2 * (3 - 0.5) / 3
    assert join(solids).volume() == pytest.approx(3 * ball - 2 * cap, rel=6e-3)


@pytest.mark.parametrize("seed", range(3))
def test_hulls_told_apart_are_apart(seed: int) -> None:
    """Balls and rods at any angle: what is told apart has no common metal by the kernel, and balls
    (where the distance of the middles tells) are told apart but for a hair."""
    dice = np.random.default_rng(seed)
    ball, rod = make("ball", (1.0,), 0.01), box((-0.2, -0.2, -1), (0.2, 0.2, 1), 0)
    turns = Rotation.random(200, random_state=seed).as_matrix()
    frames = np.concatenate([turns, dice.uniform(-1.2, 1.2, (200, 3, 1))], axis=2)
    one, other = frames[:100], frames[100:]
    told = apart(ball.points, one, ball.points, other)
    middles = frames[:, :, 3] + 0.5 * frames[:, :, 2]  # a ball stands on its origin
    gap = np.linalg.norm(middles[:100] - middles[100:], axis=1)
    assert not told[gap < 0.98].any() and told[gap > 1.02].all()
    told = apart(ball.points, one, rod.points, other)
    assert 20 < told.sum() < 95
    for k in np.flatnonzero(told):
        both = [solid_of([placed(m, f[None], LEAST_ID)]) for m, f in ((ball, one[k]), (rod, other[k]))]
        assert (both[0] ^ both[1]).is_empty()
