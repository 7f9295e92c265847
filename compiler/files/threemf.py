"""3MF, the print houses' richer format: it carries the unit, the parts and their metals.

Source: 3MF Core Specification (3MF Consortium, an open standard): namespaces, package parts and content types
as given there, core namespace of 2015/02; element order and number forms as in its schema, version 1.2.2."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from .mesh import GRID
from .solids import Solid
from .text import records

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
# A metadata name that is not in the core list must stand in a namespace: this one is ours.
OURS = "urn:x-posy:piece"
MODEL = "3D/3dmodel.model"
CLOCKLESS = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can hold

_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels"'
    ' ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model"'
    ' ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{MODEL}" Id="rel0"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)


def threemf_bytes(solids: Sequence[Solid], title: str, text_hash: str) -> bytes:
    """The 3MF package of ``solids``; ``text_hash`` is the sha256 of the piece's text."""
    package = io.BytesIO()
    with zipfile.ZipFile(package, "w") as bundle:
        parts = {"[Content_Types].xml": _TYPES.encode(), "_rels/.rels": _RELATIONS.encode(),
                 MODEL: _model(solids, title, text_hash)}  # fmt: skip
        for name, content in parts.items():
            # Level 1: the digits pack nearly as small as at level 6, in a third of the time.
            bundle.writestr(clockless(name), content, zipfile.ZIP_DEFLATED, compresslevel=1)
    return package.getvalue()


def clockless(name: str) -> zipfile.ZipInfo:
    """An entry of a zip, dated and marked the same on every machine."""
    entry = zipfile.ZipInfo(name, CLOCKLESS)
    entry.create_system, entry.external_attr = 3, 0o644 << 16
    return entry


def _model(solids: Sequence[Solid], title: str, text_hash: str) -> bytes:
    """The model part: metadata, materials, one object per solid, and what to build."""
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="und" xmlns="{CORE}" xmlns:posy="{OURS}">\n'
        f' <metadata name="Title">{escape(clean(title))}</metadata>\n'
        ' <metadata name="Application">posy</metadata>\n'
        f' <metadata name="posy:TextSha256" preserve="1">{text_hash}</metadata>\n'
        " <resources>\n"
        '  <basematerials id="1">\n'
        + "".join(
            f"   <base name={quoteattr(clean(one.material))}"
            f' displaycolor="{one.colour.upper()}FF"/>\n'
            for one in solids
        )
        + "  </basematerials>\n"
    )
    pieces = [head.encode()]
    for index, solid in enumerate(solids):
        pieces += _object(index, solid)
    # Everything is brought to where x, y and z are positive, as 3.3 asks for.
    low = np.min([one.points.min(axis=0) for one in solids if len(one.points)], axis=0)
    place = " ".join(f"{max(0.0, -float(figure)):.5f}" for figure in low)
    items = "".join(
        f'  <item objectid="{index + 2}" transform="1 0 0 0 1 0 0 0 1 {place}"/>\n'
        for index in range(len(solids))
    )
    pieces.append(f" </resources>\n <build>\n{items} </build>\n</model>\n".encode())
    return b"".join(pieces)


def _object(index: int, solid: Solid) -> list[bytes]:
    """One object with its mesh; ids start at 2 because the materials have 1."""
    name = quoteattr(clean(solid.name))
    head = f'  <object id="{index + 2}" type="model" name={name} pid="1" pindex="{index}">\n'
    grid = np.rint(solid.points.astype(np.float64) / GRID).astype(np.int64)
    corners = '<vertex x="%s" y="%s" z="%s"/>\n'
    faces = '<triangle v1="%s" v2="%s" v3="%s"/>\n'
    return [
        head.encode(),
        b"   <mesh>\n<vertices>\n",
        records(corners, list(grid.T), 5),
        b"</vertices>\n<triangles>\n",
        records(faces, list(solid.triangles.T), 0),
        b"</triangles>\n   </mesh>\n  </object>\n",
    ]


def clean(text: str) -> str:
    """``text`` without the control characters XML 1.0 cannot hold."""
    return re.sub("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "", text)
