"""STL, PLY and OBJ, plain tables of our points; GLB, whose buffers and materials are trimesh's work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...stdlib.optics import linear
from ..measures.kinds import cross, unit
from .mesh import GRID, PrintMesh
from .solids import Solid
from .text import records

# A reader takes a file that starts with "solid" for the text form, so the header must not.
STL_HEADER = b"posy, binary STL, millimetres".ljust(80)
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
PLY_HEADER = """\
ply
format binary_little_endian 1.0
comment posy, millimetres
element vertex {points}
property float x
property float y
property float z
element face {faces}
property list uchar int vertex_indices
end_header
"""
_FACE = np.dtype([("count", "u1"), ("corners", "<i4", 3)])
METRES = 0.001  # glTF 2.0, section 3.4: all linear distances are in metres; ours are in mm


def obj_bytes(solids: Sequence[Solid]) -> bytes:
    """The solids as one OBJ text, an object each; the format knows no unit: mm."""
    pieces = [b"# posy, millimetres\n"]
    before = 0
    for solid in solids:
        grid = np.rint(solid.points.astype(np.float64) / GRID).astype(np.int64)
        name = " ".join(solid.name.split()) or "piece"
        pieces.append(f"o {name}\n".encode())
        pieces.append(records("v %s %s %s\n", list(grid.T), 5))
        corners = solid.triangles.astype(np.int64) + (before + 1)  # OBJ counts from 1
        pieces.append(records("f %s %s %s\n", list(corners.T), 0))
        before += len(solid.points)
    return b"".join(pieces)


def stl_bytes(mesh: PrintMesh) -> bytes:
    """One metal as a binary STL: 80 bytes of header, a count, 50 bytes a triangle. It knows no unit: mm."""
    facets = np.zeros(len(mesh.triangles), _FACET)
    corners = mesh.points[mesh.triangles]
    one, two = ((corners[:, k] - corners[:, 0]).astype(np.float64) for k in (1, 2))
    facets["corners"], facets["normal"] = corners, unit(cross(one, two))
    return STL_HEADER + len(facets).to_bytes(4, "little") + facets.tobytes()


def ply_bytes(mesh: PrintMesh) -> bytes:
    """One metal as a binary PLY; the format knows no unit: mm."""
    faces = np.zeros(len(mesh.triangles), _FACE)
    faces["count"], faces["corners"] = 3, mesh.triangles
    header = PLY_HEADER.format(points=len(mesh.points), faces=len(faces)).encode()
    return header + mesh.points.astype("<f4").tobytes() + faces.tobytes()


def glb_bytes(solids: Sequence[Solid], title: str) -> bytes:
    """The solids as one GLB (glTF 2.0, by trimesh): in colour, in metres, face towards +z.

    The points stay in millimetres, exactly those of the other files; the node of each solid
    scales them to the metres glTF asks for."""
    import trimesh

    scene = trimesh.Scene(base_frame="piece")
    scene.metadata["title"] = title
    for solid in solids:
        shape = trimesh.Trimesh(solid.points, solid.triangles, process=False)
        shape.visual = trimesh.visual.TextureVisuals(material=_material(solid))
        scene.add_geometry(
            shape, node_name=solid.name, geom_name=solid.name,
            transform=np.diag([METRES, METRES, METRES, 1.0]),
        )
    data: bytes = scene.export(
        file_type="glb", include_normals=False,
        tree_postprocessor=lambda tree: tree["asset"].update(generator="posy"),
    )
    return data


def _material(solid: Solid) -> Any:
    """Polished metal or a stone; looks are our own choice."""
    import trimesh

    # Linear light shares, as glTF wants.
    colour = [*(round(share, 4) for share in linear(solid.colour)), 1.0]
    rough, metal = (0.05, 0.0) if solid.stone else (0.22, 1.0)
    return trimesh.visual.material.PBRMaterial(
        name=solid.material, baseColorFactor=np.array(colour), roughnessFactor=rough, metallicFactor=metal,
    )
