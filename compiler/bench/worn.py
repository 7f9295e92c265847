"""Wire through the ear that is worn seen edge-on, as a hoop is, and what hangs in it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from .feature import Feature, Lines
from .roles import Role

if TYPE_CHECKING:
    from ...lang.bench import Call
    from .laid import Laid

# By which a block says how it looks.
TURNED = "turn", "tilt", "lean", "swivel", "set-by", "at", "on", "along", "upon"


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


def stood(bench: Laid, call: Call, features: Iterable[Feature], frames: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) of a block of ``features``, stood up as worn where something is to hang in it, it has
    a hoop that lies, and its line says no turn."""
    asked = call.name.rpartition(".")[2] in bench.hosts and not any(map(call.given, TURNED))
    if not asked or not any(_edge_on(bench, one, 1) for one in features):
        return frames
    return fr.rounded(fr.compose(frames, fr.turned(0, 90.0)))


def is_ear_wire(bench: Laid, feature: Feature) -> bool:
    """Whether it is wire that goes through the ear."""
    metal = feature.body is not None and feature.index >= 0
    return metal and Role.EAR_WIRE in bench.lines[feature.index].roles


def _edge_on(bench: Laid, feature: Feature, flat: int = 2) -> bool:
    """Whether it is ear wire drawn in one plane, the way of that axis out of it."""
    path = feature.look("path") if is_ear_wire(bench, feature) and "path" in feature.offers else None
    if not isinstance(path, Lines):
        return False
    reach = np.ptp(path.lines[0].points, axis=0)
    return bool(reach[flat] < reach[0] / 2)
