"""3MF by its own schema: package, model, objects."""

from __future__ import annotations

import hashlib
import io
import re
import zipfile

import numpy as np
import pytest
from lxml import etree
from test_files_formats import CORE, made, model_of, piece

from posy.compiler.files.formats import Wanted
from posy.compiler.files.mesh import PrintMesh, print_mesh
from posy.compiler.files.outputs import files_of
from posy.compiler.files.threemf import threemf_bytes


def test_3mf_package_parts() -> None:
    # Core specification, chapter 2 (package) and appendix C (content types, relationship).
    content = made(("3mf",))[1]["wreath.3mf"]
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        assert package.testzip() is None
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        types = etree.fromstring(package.read("[Content_Types].xml"))
        kinds = {one.get("Extension"): one.get("ContentType") for one in types}
        assert kinds["model"] == "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
        assert kinds["rels"] == "application/vnd.openxmlformats-package.relationships+xml"
        (relation,) = etree.fromstring(package.read("_rels/.rels"))
        assert relation.get("Target") == "/3D/3dmodel.model"
        start = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
        assert relation.get("Type") == start


def test_3mf_model_by_the_schema() -> None:
    built = piece(("silver-925", "gold-750-yellow"))
    files, faults = files_of(built, "wreath", Wanted(("3mf",)))
    assert faults == []
    root = model_of(files["wreath.3mf"])
    assert root.tag == f"{CORE}model"
    assert root.get("unit") == "millimeter"
    # CT_Model is a sequence: metadata, resources, build.
    assert [child.tag for child in root] == [f"{CORE}metadata"] * 3 + [f"{CORE}resources", f"{CORE}build"]
    metadata = {one.get("name"): one.text for one in root.iter(f"{CORE}metadata")}
    assert metadata["Title"] == "Wreath & <bow>"
    text = built.texts[built.path].encode()
    assert metadata["posy:TextSha256"] == hashlib.sha256(text).hexdigest()
    assert "posy" in root.nsmap  # 3.4.1: other names are prefixed with a declared namespace
    resources, build = root[3], root[4]
    # CT_Resources: property resources before objects; ids positive and unique.
    assert [child.tag for child in resources] == [f"{CORE}basematerials"] + [f"{CORE}object"] * 2
    ids = [int(child.get("id")) for child in resources]
    assert len(set(ids)) == 3
    assert min(ids) > 0
    bases = list(resources[0])
    assert [base.get("name") for base in bases] == ["Sterling silver", "18 karat yellow gold (2N)"]
    assert all(re.fullmatch(r"#[0-9A-F]{8}", base.get("displaycolor")) for base in bases)
    assert [item.get("objectid") for item in build] == [str(one) for one in ids[1:]]
    for index, thing in enumerate(resources[1:]):
        assert (thing.get("type"), thing.get("pid"), thing.get("pindex")) == (
            "model", str(ids[0]), str(index),
        )  # fmt: skip
        check_object(thing)


def check_object(thing: etree._Element) -> None:
    """Numbers as ST_Number and ST_ResourceIndex allow, corners within range and distinct."""
    number = re.compile(r"[-+]?(\d+(\.\d+)?|\.\d+)([eE][-+]?\d+)?")
    vertices = thing.findall(f"{CORE}mesh/{CORE}vertices/{CORE}vertex")
    triangles = thing.findall(f"{CORE}mesh/{CORE}triangles/{CORE}triangle")
    assert all(number.fullmatch(one.get(axis)) for one in vertices for axis in "xyz")
    corners = np.array([[int(one.get(v)) for v in ("v1", "v2", "v3")] for one in triangles])
    assert corners.min() == 0
    assert corners.max() == len(vertices) - 1
    assert (np.diff(np.sort(corners, axis=1), axis=1) > 0).all()
    # 4.1.3: every edge is shared by exactly two triangles, in opposite sense.
    ways = {(a, b) for face in corners.tolist() for a, b in zip(face, face[1:] + face[:1], strict=True)}
    assert len(ways) == corners.size
    assert all((b, a) in ways for a, b in ways)


def test_3mf_stands_in_the_positive_octant() -> None:
    # 3.3: after all transforms a model should lie where x, y and z are positive.
    root = model_of(made(("3mf",))[1]["wreath.3mf"])
    (item,) = root.iter(f"{CORE}item")
    shift = [float(one) for one in item.get("transform").split()][9:]
    for axis, move in zip("xyz", shift, strict=True):
        lowest = min(float(one.get(axis)) for one in root.iter(f"{CORE}vertex"))
        assert lowest < 0
        assert lowest + move == pytest.approx(0, abs=2e-5)


def test_a_title_with_letters_xml_cannot_hold() -> None:
    cube = print_mesh(piece().parts[0], piece().features)[0]
    assert isinstance(cube, PrintMesh)
    from posy.compiler.files.solids import Solid

    solid = Solid("a\x00\"b'", "c\x1f&", "#112233", cube.points, cube.triangles)
    root = model_of(threemf_bytes([solid], "x\x0by \u2603 \U0001f48d \ufffe", "0" * 64))
    assert root[0].text == "xy \u2603 \U0001f48d "
    assert next(root.iter(f"{CORE}object")).get("name") == "a\"b'"
