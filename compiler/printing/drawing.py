"""The print drawn: the piece as it stands on the plate, its props, places by number."""

from __future__ import annotations

import numpy as np

from ...stdlib.alloys import ALLOYS
from ..drawing.beside import EDGE, Beside
from ..drawing.paper import drawn
from ..drawing.scene import Body, Scene, assembled
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
    alloy = ALLOYS.get(plan.metal)
    points, triangles = plan.mesh
    rows = [(Body(alloy.colour if alloy else PROPS), points, triangles, plan.owner.astype(np.int32))]
    if plan.props_mesh is not None:
        spots, faces = plan.props_mesh
        rows.append((Body(PROPS), spots, faces, np.full(len(faces), -1, dtype=np.int32)))
    return assembled(rows, 0.02)
