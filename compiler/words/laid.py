"""Marks carried on to a face that is not flat: letters and outlines as deep all over it, along it."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ..bench.feature import Feature
from ..bench.placement import placed
from ..bench.plan import LAID, Shape
from ..geometry import frames as fr
from ..geometry.outlines import Outline, trace_all
from ..geometry.surfaces import Flat

FINE = 0.4  # mm, how long the edges of a mark are on a curved face: 2 microns off at a radius of 10 mm
_ONE_BY_ONE = "row", "circle", "grid", "both-sides", "turn", "swivel"


def follows_face(call: Call) -> bool:
    """Whether the marks of a line go along a curved face: they stand `on` one, once."""
    feature: Feature | None = call.get("on")
    curved = feature is not None and not isinstance(feature.surface, Flat)
    return curved and not any(map(call.given, _ONE_BY_ONE))


def laid(call: Call, outline: Outline, spot: np.ndarray, low: float, high: float) -> Shape:
    """A mark at ``spot`` (1, 3, 4) of its line, from ``low`` to ``high`` mm over the face all along it."""
    from manifold3d import CrossSection, FillRule

    flat = CrossSection([loop + spot[0, :2, 3] for loop in trace_all(outline, 0.005)], FillRule.NonZero)
    tool = flat.extrude(high - low).translate((0.0, 0.0, low))
    if call.get("reversed"):
        tool = tool.mirror((1.0, 0.0, 0.0))
    mesh = tool.refine_to_length(FINE).to_mesh()
    points = np.asarray(mesh.vert_properties, dtype=float)[:, :3]
    told, which = np.unique(np.round(points[:, :2], 6), axis=0, return_inverse=True)
    ground = fr.identity(len(told))
    ground[:, :2, 3] = told
    stood = placed(call, inner=ground)[which.reshape(-1)]
    where = np.round(stood[:, :, 3] + points[:, 2:] * stood[:, :, 2], 7)
    triangles = np.asarray(mesh.tri_verts, dtype=int)
    return Shape(LAID, (outline, low, high, _frozen(where), _frozen(triangles)))


def _frozen(rows: np.ndarray) -> tuple[tuple[float, ...], ...]:
    return tuple(map(tuple, rows.tolist()))
