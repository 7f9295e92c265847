"""Stones that take no heat once they are set."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.gems import GEMS, SAFETY
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    told: set[tuple[int, str]] = set()
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if (group.feature, gem.name) in told or gem.torch not in SAFETY[2:]:
            continue
        told.add((group.feature, gem.name))
        yield Finding(
            f"{gem.title.lower()} takes no torch once it is set",
            group.feature,
            f"heat: {gem.torch}",
            "solder and size first, set last; never cast in place",
            "take it out before any later soldering",
            float(SAFETY.index(gem.torch)),
            1.0,
            key="gem",
            keys=("gem",),
        )


RULE = Rule(
    "hot-stone",
    "A stone that heat would harm.",
    "plan",
    Level.NOTE,
    "Soldering heat bursts, cracks or discolours most stones, and even hard ones crack when "
    "quenched or when dirty.",
    "Do all soldering before setting; set last. Follow local codes for torch work.",
    "[from memory], by stdlib/tables/gems.tsv",
    _check,
)
