"""Which files a piece can be handed over as; light, for the help of commands."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

FORMATS = {
    "stl": "binary STL, one per casting (of a row of like ones: one) and metal, mm: what every printer takes",
    "3mf": "3MF, all in one, with unit, colour and title",
    "obj": "OBJ, all metals in one, millimetres",
    "ply": "binary PLY, one per metal, millimetres",
    "glb": "glTF binary in colour, stones and bought parts included, metres: for the screen",
    "json": "summary: weights, stones, measures, remarks, checksums of the other files",
}
USUAL = "stl", "3mf", "json"
MOST_SHRINK = 0.1


@dataclass(frozen=True)
class Wanted:
    """What to make of a piece.

    ``formats`` are keys of FORMATS; ``shrink`` is the casting shrinkage as a share (0.0125 for
    1.25 %), by which meshes are made larger: 1/(1 - shrink); ``stones`` adds the stones to
    3MF and OBJ (GLB always shows them)."""

    formats: Collection[str] = USUAL
    shrink: float = 0.0
    stones: bool = False
