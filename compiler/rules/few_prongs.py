"""Stones with too few prongs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import below, least, place
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _vees(piece: Piece) -> Counter[int]:
    """How many vees fold round the points of each stone: plates, so no grips of wire."""
    found: Counter[int] = Counter()
    middles = piece.stones.frames[:, :, 3]
    for feature, _ in piece.of_word("plate"):
        if piece.within(feature.index, "vee-prong") and len(middles):
            for spot in feature.frames[:, :, 3]:
                found[int(np.linalg.norm(middles - spot, axis=1).argmin())] += 1
    return found


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("few-prongs", "least")
    vees = _vees(piece)
    for stone, grips in piece.grips_by_stone.items():
        count = len(grips) + vees[stone]
        if below(count, limit) and stone not in piece.walled:
            yield Finding(
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


RULE = Rule(
    "few-prongs",
    "A stone has too few prongs.",
    "plan",
    Level.WARNING,
    "Two prongs let a stone swing about the line between them; three hold it, four still hold "
    "it when one is worn.",
    "Give it four prongs, or six where it matters.",
    "common practice, no source",
    _check,
)
