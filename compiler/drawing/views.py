"""From where a piece is looked at.

Side and end stand to the face as orthographic views do (ISO 128-3, third-angle arrangement, from memory): the
side is seen from below the face, the end from the right; both keep z upright, so that a finger ring stands on
its shank. The corner views are oblique looks for show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np


@dataclass(frozen=True)
class View:
    """``right``, ``up`` and ``toward`` (to the onlooker) as unit vectors of the piece;
    ``across`` and ``tall`` name the axes of the piece that lie in the paper, if any."""

    name: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    toward: tuple[float, float, float]
    across: str = ""
    tall: str = ""

    def axes(self) -> np.ndarray:
        """(3, 3): rows right, up, toward."""
        return np.array([self.right, self.up, self.toward])


def _oblique(name: str, toward: tuple[float, float, float]) -> View:
    """A look from ``toward`` with z upright."""
    out = np.array(toward) / np.linalg.norm(toward)
    right = np.cross((0.0, 0.0, 1.0), out)
    right /= np.linalg.norm(right)
    up = np.cross(out, right)
    return View(name, *(tuple(float(v) for v in axis) for axis in (right, up, out)))  # type: ignore[arg-type]


_ALL = (
    View("face", (1, 0, 0), (0, 1, 0), (0, 0, 1), "x", "y"),
    View("side", (1, 0, 0), (0, 0, 1), (0, -1, 0), "x", "z"),
    View("end", (0, 1, 0), (0, 0, 1), (1, 0, 0), "y", "z"),
    View("back", (-1, 0, 0), (0, 1, 0), (0, 0, -1), "x", "y"),
    View("far-side", (-1, 0, 0), (0, 0, 1), (0, 1, 0), "x", "z"),
    View("far-end", (0, -1, 0), (0, 0, 1), (-1, 0, 0), "y", "z"),
    _oblique("corner", (0.46, -0.72, 0.62)),
    _oblique("back-corner", (0.46, -0.72, -0.62)),
)

VIEWS: Mapping[str, View] = MappingProxyType({view.name: view for view in _ALL})
"""Views by name."""
SEEN: Mapping[str, str] = MappingProxyType({
    "face": "from the front", "side": "from below", "end": "from the right", "back": "from behind",
    "far-side": "from above", "far-end": "from the left",
})  # fmt: skip
"""Where the views square to the piece are seen from."""
