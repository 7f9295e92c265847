"""Every mesh file, read back by trimesh, is the same closed solid; 3MF by its specification.

Outside references: trimesh (its readers and its watertight test are independent of our
writers, and for PLY and GLB at least its reader is), zipfile and lxml, and the 3MF Core
Specification with its schema (github.com/3MFConsortium/spec_core, core 1_2_2.xsd, read in
November 2026). Exact volumes: a torus has 2 pi^2 R r^2, a box its product."""

from __future__ import annotations

import hashlib
import io
import json
import math
import os
import re
import struct
import subprocess
import sys
import zipfile
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh
from lxml import etree

from posy.compiler.files.formats import FORMATS, Wanted
from posy.compiler.files.mesh import print_mesh
from posy.compiler.files.meshes import stl_bytes
from posy.compiler.files.outputs import files_of
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built, FeatureInfo
from posy.compiler.metal.part import Part
from posy.lang.faults import Span
from posy.lang.loader import Texts

RING, WIRE = 9.0, 1.0


CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def model_of(content: bytes) -> etree._Element:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return etree.fromstring(package.read("3D/3dmodel.model"), etree.XMLParser(huge_tree=True))


def piece(metals: tuple[str, ...] = ("silver-925",)) -> Built:
    """A torus with two balls, one such part for each metal, side by side."""
    parts = tuple(part(metal, 25.0 * k) for k, metal in enumerate(metals))
    line = Span("pieces/wreath.posy", 3, 1, 3, 5)
    features = FeatureInfo("hoop", "wire", line), FeatureInfo("berries", "ball", line)
    text = 'piece "Wreath & <bow>"\n'
    return Built(
        "pieces/wreath.posy", "Wreath & <bow>", metals[0], "", {}, features, parts,
        texts={"pieces/wreath.posy": text},
    )  # fmt: skip


def part(metal: str, shift: float) -> Part:
    circle = manifold3d.CrossSection.circle(WIRE, 48).translate((RING, 0))
    hoop = manifold3d.Manifold.revolve(circle, 160).translate((shift, 0, 0)).as_original()
    ball = manifold3d.Manifold.sphere(1.6, 48)
    berries = ball.translate((shift + RING, 0, 0)) + ball.translate((shift - RING, 0, 0.2))
    solid = hoop + berries.as_original()
    raw = solid.to_mesh64()
    triangles = np.array(raw.tri_verts, np.int32)
    runs = np.diff(np.array(raw.run_index)) // 3
    ids = np.array(raw.run_original_id)
    owner = np.repeat((ids != hoop.original_id()).astype(np.int32), runs)
    points = np.array(raw.vert_properties)[:, :3]
    return Part(metal, points, triangles, owner, solid.volume(), solid.volume())


def made(formats: tuple[str, ...], **other: object) -> tuple[Built, dict[str, bytes]]:
    built = piece()
    files, faults = files_of(built, "wreath", Wanted(formats, **other))  # type: ignore[arg-type]
    assert faults == []
    return built, files


def read(name: str, content: bytes) -> trimesh.Trimesh:
    """What trimesh makes of a file, welded by position where no points are shared."""
    kind = name.rpartition(".")[2]
    return trimesh.load(io.BytesIO(content), file_type=kind, force="mesh")


@pytest.mark.parametrize("kind", ["stl", "3mf", "obj", "ply", "glb"])
def test_every_format_comes_back_closed_and_of_the_same_volume(kind: str) -> None:
    built, files = made((kind,))
    mesh, _ = print_mesh(built.parts[0], built.features)
    assert mesh is not None
    back = read(f"wreath.{kind}", files[f"wreath.{kind}"])
    assert back.is_watertight
    assert back.is_winding_consistent
    assert len(back.faces) == len(mesh.triangles)
    assert len(back.vertices) == len(mesh.points)
    unit = 1e-9 if kind == "glb" else 1.0  # glTF is in metres
    assert back.volume == pytest.approx(mesh.volume * unit, rel=1e-6)
    assert back.volume == pytest.approx(built.parts[0].mesh_volume * unit, rel=1e-5)


def test_the_torus_has_its_volume() -> None:
    circle = manifold3d.CrossSection.circle(WIRE, 256).translate((RING, 0))
    raw = manifold3d.Manifold.revolve(circle, 512).to_mesh64()
    triangles = np.array(raw.tri_verts, np.int32)
    hoop = Part(
        "silver-925", np.array(raw.vert_properties)[:, :3], triangles,
        np.zeros(len(triangles), np.int32), 0.0, 0.0,
    )  # fmt: skip
    mesh, _ = print_mesh(hoop, [])
    assert mesh is not None
    back = read("hoop.stl", stl_bytes(mesh))
    assert back.volume == pytest.approx(2 * math.pi**2 * RING * WIRE**2, rel=5e-4)


def test_the_points_are_the_same_in_every_format() -> None:
    built, files = made(("stl", "3mf", "obj", "ply"))
    mesh, _ = print_mesh(built.parts[0], built.features)
    assert mesh is not None
    for name, content in files.items():
        if name.endswith("3mf"):  # trimesh moves it where its item stands: see below
            corners = model_of(content).iter(f"{CORE}vertex")
            figures = [[float(one.get(axis)) for axis in "xyz"] for one in corners]
            back = np.array(figures).astype(np.float32)
        else:
            back = read(name, content).vertices.astype(np.float32)
        ranked = back[np.lexsort(back.T[::-1])]
        assert ranked.tobytes() == mesh.points.tobytes(), name


def test_binary_stl_layout() -> None:
    # 80 bytes of header, uint32 count, 50 bytes a facet (common description of the format).
    files = made(("stl",))[1]
    content = files["wreath.stl"]
    (count,) = struct.unpack("<I", content[80:84])
    assert len(content) == 84 + 50 * count
    assert not content.startswith(b"solid")
    assert re.search(rb"(19|20)\d\d", content[:80]) is None
    back = trimesh.load(io.BytesIO(content), file_type="stl", process=False)
    stored = np.frombuffer(content[84:], _FACET)["normal"]
    own = back.face_normals
    dots = (stored * own).sum(axis=1)
    assert dots.min() > 0.99


_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])


def test_files_name_posy_and_no_other_program() -> None:
    files = made(("stl", "ply", "obj", "glb", "3mf"))[1]
    for name, content in files.items():
        if name.endswith("3mf"):
            continue  # the standard's own namespaces are addresses
        assert b"posy" in content[:400], name
        assert b"://" not in content and b"trimesh" not in content, name


def test_glb_carries_the_metal_and_its_size_in_metres() -> None:
    files = made(("glb",))[1]
    scene = trimesh.load(io.BytesIO(files["wreath.glb"]), file_type="glb", force="scene")
    (shape,) = scene.geometry.values()
    material = shape.visual.material
    assert material.metallicFactor == 1.0
    # #e6e5e0 of the alloy table, as linear light (IEC 61966-2-1: 0.902 -> 0.791).
    assert material.baseColorFactor[0] / 255 == pytest.approx(0.791, abs=0.01)
    wide = scene.bounds[1][0] - scene.bounds[0][0]
    assert wide == pytest.approx((2 * RING + 3.2) / 1000, rel=1e-3)


TWO = "silver-925", "gold-750-yellow"
ONE_EACH = ("stl", "ply")  # one file for each metal: the format tells no metals apart


def test_several_metals_are_separate_parts() -> None:
    built = piece(TWO)
    files, faults = files_of(built, "wreath", Wanted(tuple(FORMATS)))
    assert faults == []
    names = [
        [f"wreath-{metal}.{kind}" for metal in TWO] if kind in ONE_EACH else [f"wreath.{kind}"]
        for kind in FORMATS
    ]
    assert list(files) == [name for some in names for name in some]
    for name in ("wreath.3mf", "wreath.obj", "wreath.glb"):
        kind = name.rpartition(".")[2]
        both = trimesh.load(io.BytesIO(files[name]), file_type=kind, force="mesh")
        assert both.is_watertight
        assert both.body_count == 2
    listed = {one["file"]: one for one in json.loads(files["wreath.json"])["files"]}
    for name, content in files.items():
        if name != "wreath.json":
            assert listed[name]["sha256"] == hashlib.sha256(content).hexdigest()
            assert listed[name]["bytes"] == len(content)


def test_shrink_is_in_the_name_and_the_size() -> None:
    built, files = made(("stl", "json"), shrink=0.0125)
    assert list(files) == ["wreath-shrink-1.25.stl", "wreath-shrink-1.25.json"]
    back = read("a.stl", files["wreath-shrink-1.25.stl"])
    assert back.volume == pytest.approx(built.parts[0].mesh_volume / 0.9875**3, rel=1e-5)


PROGRAM = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from test_files_formats import TWO, piece
from posy.compiler.files.formats import FORMATS, Wanted
from posy.compiler.files.outputs import files_of
both = piece(TWO)
files, faults = files_of(both, "wreath", Wanted(tuple(FORMATS)))
for name, content in files.items():
    print(name, hashlib.sha256(content).hexdigest())
"""


def test_two_processes_write_the_same_bytes() -> None:
    def run(seed: str) -> str:
        return subprocess.run(
            [sys.executable, "-c", PROGRAM, str(Path(__file__).parent)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True, capture_output=True, text=True, timeout=120,
        ).stdout  # fmt: skip

    first = run("1")
    assert first.count("\n") == len(FORMATS) + len(ONE_EACH)
    assert run("2") == first


def test_glb_shows_what_is_bought_too() -> None:
    lines = ('piece "Wreath"', "  metal silver-925", "disc d: across 9 mm, thick 1.6 mm",
             "rod post: out 1.6 mm, wire 1 mm, long 10 mm, bought")  # fmt: skip
    shown = build("wreath.posy", files=Texts({"wreath.posy": "\n".join(lines)}))
    glb, stl = (files_of(shown, "wreath", Wanted((kind,)))[0][f"wreath.{kind}"] for kind in ("glb", "stl"))
    scene = trimesh.load(io.BytesIO(glb), file_type="glb", force="scene")
    assert scene.bounds[1][2] == pytest.approx(0.0116, rel=1e-3)
    assert read("wreath.stl", stl).bounds[1][2] == pytest.approx(1.6, rel=1e-3)
