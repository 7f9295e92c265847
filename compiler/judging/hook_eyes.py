"""A hook of wire on one casting and the eye of another it closes in: halves of a clasp, which do not hang."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from .posts import THIN, bent, from_metal

if TYPE_CHECKING:
    from .castings import Casting
    from .piece import Piece


def hook_for(piece: Piece, casting: Casting) -> float | None:
    """The thickness of the hook on another casting that closes in an eye of this one, mm; None without one.

    It is thicker than what goes through an ear, one end of it free, and looks this way; both castings have a
    loop on the far side of their weight, to be sewn or chained by."""
    middle = casting.centre[1]
    rings = [loop.middle - middle for loop in casting.loops]
    if not any(a @ b < 0 for a in rings for b in rings):
        return None
    for feature, wire, bends in bent(piece, Role.WIRE, THIN, np.inf):
        for points in bends:
            far = from_metal(piece, feature, points)
            if far is None or not far.min() < wire < far.max():
                continue
            home = piece.casting_measures.casting_at(points[int(far.argmin())])
            if home is None or home is casting:
                continue
            hook = points.mean(axis=0) - home.centre[1]
            if hook @ (middle - home.centre[1]) > 0 and any(
                hook @ (loop.middle - home.centre[1]) < 0 for loop in home.loops
            ):
                return wire
    return None
