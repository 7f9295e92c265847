"""Wire through the ear that is worn seen edge-on, as a hoop is, and what hangs in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .feature import Feature, Lines
from .roles import Role

if TYPE_CHECKING:
    from .laid import Laid


def worn_aside(bench: Laid, host: Feature) -> bool:
    """Whether the casting that a part is, or is of, or what that hangs in, has wire through the ear drawn
    flat toward you: worn, that is seen from its right."""
    if host.source is not None:
        return worn_aside(bench, host.source)
    home = bench.block_of(f"{host.name}.")
    for call in bench.lines:
        above = call.get("hangs-in")
        if isinstance(above, Feature) and f"{call.name}." in (home, f"{host.name}."):
            return worn_aside(bench, above)
    return any(_edge_on(bench, one) for one in bench.features if bench.block_of(one.name) == home)


def is_ear_wire(bench: Laid, feature: Feature) -> bool:
    """Whether it is wire that goes through the ear."""
    metal = feature.body is not None and feature.index >= 0
    return metal and Role.EAR_WIRE in bench.lines[feature.index].roles


def _edge_on(bench: Laid, feature: Feature) -> bool:
    path = feature.look("path") if is_ear_wire(bench, feature) and "path" in feature.offers else None
    if not isinstance(path, Lines):
        return False
    wide, _, deep = np.ptp(path.lines[0].points, axis=0)
    return bool(deep < wide / 2)
