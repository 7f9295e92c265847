"""Walls round stones, as the plan tells: bodies little larger than their stone. Lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..geometry.outlines import trace

if TYPE_CHECKING:
    from .beds import Bed
    from .piece import Piece

# A body that reaches further past its stone than this all round is no bezel.
WIDEST = 1.5


@dataclass(frozen=True)
class Bezel:
    """A wall round a stone: its line, the stone, the wall's thickness at the girdle and how far
    it rises above the girdle's middle (``lip``)."""

    feature: int
    stone: int
    wall: float
    lip: float


def bezels_of(piece: Piece) -> list[Bezel]:
    """Every stone that lies sunk in a body which follows its girdle."""
    found = []
    for bed in piece.beds:
        if bed.sunk > 0.05 and is_cup(piece, bed):
            seat = piece.seated.get(bed.stone)
            room = piece.call(seat).get("clearance", 0.0) if seat is not None else 0.0
            found.append(Bezel(bed.body, bed.stone, bed.edge - room, bed.sunk))
    return found


def is_cup(piece: Piece, bed: Bed) -> bool:
    """Whether the body is a collet, tube or bezel made for this one stone."""
    outline = piece.features[bed.body].outline
    if bed.ring or outline is None:
        return False
    size = np.ptp(trace(outline, 0.05), axis=0)
    setting = piece.stones.of(bed.stone)
    wide = sorted((setting.length, setting.width))
    long: bool = bool((np.sort(size) - np.array(wide) <= 2 * WIDEST).all())
    return long
