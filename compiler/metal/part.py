"""The metal of a piece as it leaves this room: one closed mesh for each alloy of each casting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True)
class Part:
    """All metal of one alloy in one casting as a closed mesh.

    ``points`` (n, 3) float64 mm, ``triangles`` (m, 3) int32 counter-clockwise from outside, ``owner`` (m,)
    int32 index into Built.features. ``volume`` mm3 is the best figure for the exact solid (corrected for
    faceting), ``mesh_volume`` that of the triangles; ``error`` bounds the difference between ``volume`` and
    the exact solid, mm3. ``casting`` is its name ("" for the piece's own), or with ``bought`` that of the
    part that is bought, not cast, each of which ``weighs`` so much, g, if that is known."""

    metal: str
    points: np.ndarray
    triangles: np.ndarray
    owner: np.ndarray
    volume: float
    mesh_volume: float
    error: float = 0.0
    casting: str = ""
    bought: bool = False
    weighs: float | None = None


def in_row(casting: str) -> tuple[str, int]:
    """The name of the line of a casting, and which of its row it is, from 1: ("drops", 2) of "drops 2"."""
    name, _, number = casting.rpartition(" ")
    return (name, int(number)) if number.isdigit() else (casting, 1)


def spoken(castings: tuple[str, ...]) -> str:
    """Castings alike by their names: "drop 1 and drop 2", many in short."""
    few = len(castings) < 4
    return " and ".join(castings) if few else f"{castings[0]} and {len(castings) - 1} more alike"
