"""Where two bodies of metal come nearest, and the way from the one to the other. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.closest import nearest, on_triangle
from ..measures.kinds import Floats, length
from ..measures.skin import Skin

SOME = 600  # corners of each body from which the nearest are sought
TURNS = 12


@dataclass(frozen=True, eq=False)
class Nearness:
    """How far apart two bodies are, the features there, and the way from the first to the second (3,), of
    length 1, zero where they touch; ``body`` is the second by its number, where it has one."""

    gap: float
    first: int
    second: int
    way: Floats
    at: Floats
    body: int = -1


def between(one: Skin, two: Skin) -> Nearness:
    """Where two skins come nearest: from their nearest corners to and fro until it is no nearer."""
    points = [skin.points[np.unique(skin.triangles)] for skin in (one, two)]
    a, b = (some[:: max(1, len(some) // SOME)] for some in points)
    apart = length((a[:, None] - b[None]).reshape(-1, 3)).reshape(len(a), len(b))
    spot = a[int(apart.argmin()) // len(b)]
    far, faces = np.inf, (0, 0)
    here = there = spot
    for _ in range(TURNS):
        there, face_two = _on(two, here)
        here, face_one = _on(one, there)
        faces, before, far = (face_one, face_two), far, float(np.linalg.norm(there - here))
        if far > before - 1e-5:
            break
    way = (there - here) / far if far > 1e-9 else np.zeros(3)
    owners = int(one.owner[faces[0]]), int(two.owner[faces[1]])
    return Nearness(far, *owners, way, (here + there) / 2)


def _on(skin: Skin, spot: Floats) -> tuple[Floats, int]:
    _, face = nearest(skin, spot)
    return on_triangle(spot[None], skin.corners[face : face + 1])[0], face
