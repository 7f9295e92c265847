"""Which wires are ear posts: thin, long, and pointing backward or made for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from .figure_rule import Aspect, Reading

if TYPE_CHECKING:
    from .piece import Piece

BACKWARD, LONG, THIN = -0.9, 6.0, 1.3


def posts_of(piece: Piece) -> Iterator[tuple[int, float, np.ndarray]]:
    """(line, wire, foot) of every ear post, in order."""
    rods = piece.rods
    for k in range(len(rods.wire)):
        line = int(rods.feature[k])
        if piece.is_for(line, Role.PIN):
            continue
        back = rods.way[k, 2] < BACKWARD and rods.long[k] >= LONG and rods.wire[k] <= THIN
        if back or (piece.is_for(line, Role.EAR_POST) and rods.long[k] >= LONG):
            yield line, float(rods.wire[k]), rods.foot[k]


def _wires(piece: Piece) -> Iterator[Reading]:
    for line, wire, foot in posts_of(piece):
        yield Reading(line, wire, foot)


POST = Aspect(_wires, "across", ("wire",))
