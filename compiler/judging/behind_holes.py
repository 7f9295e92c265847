"""Where the joint and the catch of a pin leave the light holes before them free. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..bench.roles import Role
from ..measures.closest import on_triangle
from ..measures.kinds import Floats, length
from .digits import rounded_down
from .moves import move
from .piece import Piece

SHIFTS = np.arange(0.2, 4.05, 0.1)  # mm, that they may be moved
MORE = 0.1  # of a move, that may be added to it
FREE = 0.7  # of the radius of a hole, metal so far off its middle leaves most of it open


def off_holes(
    piece: Piece, mine: list[int], frames: Floats, radii: Floats, hidden: Callable[[Floats], bool]
) -> str:
    """What takes the metal of a pin, by its features, off light holes of such ``radii`` (n,) below ``frames``
    (n, 3, 4) and leaves it ``hidden``: the pin moved, or its feet brought nearer to each other; "" where
    neither does, a little less or more as well."""
    skin, line = piece.skin_measures.skin, piece.name_of(mine[0])
    corners = skin.corners[np.isin(skin.owner, mine)]
    spots = corners.reshape(-1, 3)
    along = np.linalg.svd(spots - spots.mean(axis=0), full_matrices=False)[2][0]
    far = corners.mean(axis=1) @ along
    side = np.sign(far - (far.min() + far.max()) / 2)
    square = np.cross(frames[0, :, 2], along)
    ways = []

    def clears(by: Floats) -> bool:
        return all(_free(corners + k * by, frames, radii) for k in (1.0, 1.0 + MORE)) and hidden(corners + by)

    moved = ((shift, way) for shift in SHIFTS for way in (along, -along, square, -square))
    for shift, way in moved:
        said = move(piece, mine[0], shift * way)
        if said is not None and clears(said.by):
            ways.append(f"move {line} {said.in_piece}, off the hole")
            break
    use = next(use for use in piece.call(mine[0]).within if Role.PIN in use.word.roles)
    if use.word.take("long") is not None:
        ends = [far[side == sign] for sign in (-1.0, 1.0)]
        long = float(np.ptp([(one.min() + one.max()) / 2 for one in ends if len(one)]))
        nearer = (s for s in SHIFTS if clears(-s * side[:, None, None] * along))
        if (less := next(nearer, None)) is not None and long > 2 * less:
            ways.append(f"write long {rounded_down(long - 2 * less)} in the line of {line}")
    # Where its length is found its feet stay where they find metal.
    found = "long" not in use.arguments or not use.arguments["long"].given
    return ", or ".join(ways[::-1] if found else ways)


def _free(corners: Floats, frames: Floats, radii: Floats) -> bool:
    """Whether triangles (n, 3, 3) keep off light holes."""
    for frame, radius in zip(frames, radii, strict=True):
        seen = (corners - frame[:, 3]) @ frame[:, :3]
        near = (np.abs(seen[:, :, :2]).min(axis=1) < radius) | (np.ptp(np.sign(seen[:, :, :2]), axis=1) > 0)
        flat = seen[near.all(axis=1) & (seen[:, :, 2].min(axis=1) < 0)] * (1.0, 1.0, 0.0)
        if len(flat) and length(on_triangle(np.zeros((len(flat), 3)), flat)).min() < FREE * radius:
            return False
    return True
