"""What files of several objects hold: each metal and, on request, the stones by kind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ...stdlib.alloys import find_alloy
from ...stdlib.gems import find_gem
from ..making.result import Built, Stone
from ..measures.triangles import together
from .mesh import PrintMesh

UNKNOWN = "#C0C0C0"


@dataclass(frozen=True)
class Solid:
    """One object of a file of several: its name, material, colour and closed mesh in mm.

    ``colour`` is sRGB "#RRGGBB"; ``points`` (n, 3) float32, ``triangles`` (m, 3) int32.
    ``stone`` tells a stone, which is not metal to be printed."""

    name: str
    material: str
    colour: str
    points: np.ndarray
    triangles: np.ndarray
    stone: bool = False


def metal_solids(built: Built, meshes: Iterable[PrintMesh]) -> list[Solid]:
    """One object per casting and metal, named by the piece, the casting, and the metal of several."""
    meshes = list(meshes)
    solids = []
    for mesh in meshes:
        alloy = find_alloy(mesh.metal)
        material = alloy.title if alloy else mesh.metal
        several = sum(one.casting == mesh.casting for one in meshes) > 1
        told = built.title, mesh.casting, material if several else ""
        name = ", ".join(one for one in told if one)
        colour = alloy.colour if alloy else UNKNOWN
        solids.append(Solid(name, material, colour, mesh.points, mesh.triangles))
    return solids


def stone_solids(built: Built, shrink: float = 0.0) -> list[Solid]:
    """One object per kind of gem, all its stones in one mesh, larger by ``shrink`` as the metal is."""
    from ..bench.stone_solid import placed_mesh

    fine = max(built.tolerance, 1e-4)
    gems: dict[str, list[Stone]] = {}
    for stone in built.stones:
        gems.setdefault(stone.gem, []).append(stone)
    solids = []
    for name, stones in gems.items():
        gem = find_gem(name)
        points, triangles = together([placed_mesh(one.shape, one.frame, fine) for one in stones])
        title = gem.title if gem else name
        size = (points / (1.0 - shrink)).astype(np.float32)
        colour = gem.colour if gem else UNKNOWN
        solids.append(Solid(f"{title}, stones", title, colour, size, triangles.astype(np.int32), stone=True))
    return solids
