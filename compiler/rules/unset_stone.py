"""Stones that nothing refers to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import place
from ..judging.edges import inside_by
from ..judging.rule import Verdict
from ..judging.stone_table import outline_of

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    held = set(piece.prongs.stone[piece.prongs.holding].tolist()) | set(piece.seated)
    stones = piece.stones
    for stone in range(len(stones.kind)):
        if stone not in held and not _touched(piece, stone):
            yield Verdict(
                "nothing holds this stone",
                int(stones.feature[stone]),
                "no seat, prong or wall",
                "a seat, and prongs, a bezel or beads",
                "add a setting, as in 'posy words prong'",
                0.0,
                1.0,
                place=place(stones.frames[stone, :, 3]),
            )


def _touched(piece: Piece, stone: int) -> bool:
    """Whether any metal or cut was laid out close round the stone's girdle."""
    frame, setting = piece.stones.frames[stone], piece.stones.of(stone)
    outline = outline_of(setting)
    for laid in piece.plan_solids:
        off = (laid.frames[:, :, 3] - frame[:, 3]) @ frame[:, :3]
        near = inside_by(outline, off[:, :2])
        if (near > -1.5).any() and np.abs(off[near > -1.5, 2]).min() < setting.width * 2:
            return True
    return False
