"""Seats without a stone: their metal was repeated or moved, and the stone stayed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import SEAT
from ..judging.digits import place
from ..judging.pairs import near_pairs
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid


def check(piece: Piece) -> Iterator[Verdict]:
    for solid in piece.plan_solids:
        if solid.kind != SEAT:
            continue
        spots = solid.frames[:, :, 3]
        empty = np.ones(len(spots), dtype=bool)
        empty[near_pairs(piece.stones.frames[:, :, 3], spots, 1e-3)[1]] = False
        for spot in spots[empty]:
            line = solid.parts[0] if solid.parts else solid.feature
            yield Verdict(
                f"{piece.name_of(solid.feature)} is cut here, and no stone stands in it",
                line,
                "no stone",
                "a stone in every seat",
                _remedy(piece, line, solid),
                0.0,
                1.0,
                place=place(spot),
            )


def _remedy(piece: Piece, line: int, seat: PlanSolid) -> str:
    source, call = piece.features[line].source, piece.call(seat.feature)
    setting = call.within[0].name if call.within else call.name
    if source is not None and source.name != setting:
        return f"repeat the setting with it, which takes its stones along: of {source.name} + {setting}"
    into = call.get("in")
    if seat.bent is not None and into is not None:
        return f"bend the setting with it, which takes its stones along: of {into.name} + {setting}"
    return "lay the stones in the same block as the seat, above it, or in a line of their own where it stands"
