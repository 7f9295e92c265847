"""Marks carried on to a face that is not flat: letters and outlines as deep all over it, along it."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ..bench.faces import faced
from ..bench.feature import Feature
from ..bench.placement import placed
from ..bench.plan import LAID, Shape
from ..geometry import frames as fr
from ..geometry.outlines import Outline, trace_all
from ..geometry.surfaces import Flat
from .text_run import Mark

FINE = 0.4  # mm, how long the edges of a mark are on a curved face: 2 microns off at a radius of 10 mm
LEVEL = 1e-3  # how much the ways out of a face differ that is flat
_ONE_BY_ONE = "row", "circle", "grid", "both-sides", "turn", "swivel"


def follows_face(call: Call, marks: list[Mark]) -> bool:
    """Whether the marks of a line go along a curved face: they stand `on` one, once."""
    said: Feature | None = call.get("on")
    if said is None or any(map(call.given, _ONE_BY_ONE)):
        return False
    feature = faced(said)
    return not isinstance(feature.surface, Flat) or (bool(feature.worked) and not _is_level(call, marks))


def _is_level(call: Call, marks: list[Mark]) -> bool:
    """Whether marks stand on one flat ground of what was cut in their face, or across it."""
    spots = np.concatenate([loop + home[0, :2, 3] for one, home in marks for loop in trace_all(one, 0.05)])
    ground = fr.identity(len(spots))
    ground[:, :2, 3] = spots
    return bool(np.abs(np.ptp(placed(call, inner=ground)[:, :, 2], axis=0)).max() < LEVEL)


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
