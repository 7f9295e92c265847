"""Stones with too few prongs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..judging.digits import below, least, place
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _plates(piece: Piece) -> Counter[int]:
    """How many prongs that are no wire stand by each stone: vees round its points."""
    found: Counter[int] = Counter()
    stones, rods = piece.stones, set(piece.rods.feature.tolist())
    for feature, _ in piece.with_role(Role.PRONG):
        lines = piece.services.lines(feature.index)
        held = np.flatnonzero([line in lines for line in stones.line.tolist()])
        metal = feature.body is not None and not feature.members
        if metal and feature.index not in rods and len(held):
            for spot in feature.frames[:, :, 3]:
                away = np.linalg.norm(stones.frames[held, :, 3] - spot, axis=1)
                found[int(held[away.argmin()])] += 1
    return found


def check(piece: Piece) -> Iterator[Verdict]:
    limit = piece.bound("few-prongs", "least")
    plates = _plates(piece)
    for stone, grips in piece.grips_by_stone.items():
        count = len(grips) + plates[stone]
        if below(count, limit) and stone not in piece.walled:
            yield Verdict(
                "this stone has too few prongs",
                grips[0].feature,
                f"{count} prong{'s' * (count != 1)}",
                least(f"{limit:g}"),
                "add prongs",
                float(count),
                limit,
                key="circle",
                keys=("count",),
                place=place(piece.stones.frames[stone, :, 3]),
                mend=Mend("count", "4", "least"),
            )
