"""Binary STL, the print houses' common format. It knows no unit: figures are millimetres."""

from __future__ import annotations

import numpy as np

from .mesh import PrintMesh

# A reader takes a file that starts with "solid" for the text form, so the header must not.
HEADER = b"posy, binary STL, millimetres".ljust(80)
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])


def stl_bytes(mesh: PrintMesh) -> bytes:
    """``mesh`` as a binary STL file: 80 bytes of header, a count, 50 bytes a triangle."""
    facets = np.zeros(len(mesh.triangles), _FACET)
    corners = mesh.points[mesh.triangles]
    facets["corners"] = corners
    facets["normal"] = _normals(corners)
    return HEADER + len(facets).to_bytes(4, "little") + facets.tobytes()


def _normals(corners: np.ndarray) -> np.ndarray:
    """Unit normals of (m, 3, 3) corners; zero for a triangle without area."""
    one = (corners[:, 1] - corners[:, 0]).astype(np.float64)
    two = (corners[:, 2] - corners[:, 0]).astype(np.float64)
    normal = np.empty_like(one)
    normal[:, 0] = one[:, 1] * two[:, 2] - one[:, 2] * two[:, 1]
    normal[:, 1] = one[:, 2] * two[:, 0] - one[:, 0] * two[:, 2]
    normal[:, 2] = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    length = np.sqrt(normal[:, 0] ** 2 + normal[:, 1] ** 2 + normal[:, 2] ** 2)
    length[length == 0.0] = 1.0
    unit: np.ndarray = normal / length[:, None]
    return unit.astype(np.float32)
