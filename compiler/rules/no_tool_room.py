"""Prongs too near one another for a tool."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import below, least, mm, place
from ..judging.pairs import near_pairs
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


APART = "take thinner wire, or set the stones further apart"
SHARED = "let less of each wire lie over the girdle ('bite'), or bring the stones closer"


def check(piece: Piece) -> Iterator[Verdict]:
    floor, advised = (
        piece.bound("no-tool-room", "least"),
        piece.bound("no-tool-room", "advised"),
    )
    rods = piece.rods
    holding = np.array(sorted({g.rod for g in piece.grips if g.bite > 0}), dtype=int)
    if len(holding) < 2:
        return
    shared = {grip.feature for grip in piece.grips if grip.stone in piece.shared}
    stones: dict[int, set[int]] = {}
    for grip in piece.grips:
        stones.setdefault(grip.rod, set()).add(grip.stone)
    tips = (rods.foot + rods.way * rods.long[:, None])[holding]
    wire = rods.wire[holding]
    first, second = near_pairs(tips, tips, float(wire.max()) + max(floor, advised))
    for i, j in zip(first, second, strict=True):
        room = float(np.linalg.norm(tips[i] - tips[j])) - float(wire[i] + wire[j]) / 2
        # A pair that holds the same two stones is pushed over and finished as one.
        pair = len(two := stones[int(holding[i])]) > 1 and two == stones[int(holding[j])]
        if i >= j or room <= 0 or not below(room, floor if pair else max(floor, advised)):
            continue
        tight = below(room, floor)
        bound = floor if tight else advised
        yield Verdict(
            "two prongs leave hardly a slit between them"
            if tight
            else "two prongs leave no room for a graver between them",
            int(rods.feature[holding[j]]),
            mm(room),
            least(mm(bound)),
            SHARED if rods.feature[holding[j]] in shared else APART,
            room,
            bound,
            key="wire",
            keys=("wire",),
            place=place((tips[i] + tips[j]) / 2),
            level=Level.WARNING if tight else Level.HINT,
        )
