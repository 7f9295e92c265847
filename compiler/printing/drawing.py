"""The print drawn: the piece as it stands on the plate, its props, places by number."""

from __future__ import annotations

import numpy as np

from ...stdlib.alloys import ALLOYS
from ..drawing.beside import EDGE, Beside
from ..drawing.paper import drawn
from ..drawing.scene import Body, Scene
from ..drawing.svg import document
from ..drawing.views import VIEWS
from .plan import PrintPlan

PROPS = "#b9c4c9"
SHOWN = "side", "corner"


def drawing(plan: PrintPlan, title: str) -> bytes:
    """One print from the side and from a corner, in SVG."""
    beside = Beside(_scene(plan), [VIEWS[name] for name in SHOWN])
    inside = [line for _, placed in beside.views() for line in drawn(placed)]
    return document(inside, beside.wide, beside.low + EDGE, f"{title}: how it prints")


def _scene(plan: PrintPlan) -> Scene:
    """The piece and its props as one mesh."""
    alloy = ALLOYS.get(plan.metal)
    points, triangles = plan.mesh
    parts = [(points, triangles, plan.owner, Body(alloy.colour if alloy else PROPS))]
    if plan.props_mesh is not None:
        spots, faces = plan.props_mesh
        parts.append((spots, faces, np.full(len(faces), -1, dtype=np.int64), Body(PROPS)))
    starts = np.cumsum([0] + [len(part[0]) for part in parts])
    return Scene(
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] + start for part, start in zip(parts, starts, strict=False)]),
        np.concatenate([np.full(len(part[1]), k, dtype=np.int32) for k, part in enumerate(parts)]),
        np.concatenate([part[2] for part in parts]).astype(np.int32), tuple(part[3] for part in parts), 0.02,
    )
