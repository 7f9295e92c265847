"""Which wires are ear posts: thin, long, and pointing backward or made by a word for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .piece import Piece

WORDS = ("ear-post", "post", "stud")
PINS = ("pin-stem",)  # stems of pins, that go through cloth
BACKWARD, LONG, THIN = -0.9, 6.0, 1.3


def posts_of(piece: Piece) -> Iterator[tuple[int, float, np.ndarray]]:
    """(line, wire, foot) of every ear post, in order."""
    rods = piece.rods
    for k in range(len(rods.wire)):
        line = int(rods.feature[k])
        if piece.within(line, *PINS):
            continue
        back = rods.way[k, 2] < BACKWARD and rods.long[k] >= LONG and rods.wire[k] <= THIN
        if back or (piece.within(line, *WORDS) and rods.long[k] >= LONG):
            yield line, float(rods.wire[k]), rods.foot[k]
