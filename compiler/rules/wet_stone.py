"""Stones that ultrasonic or steam cleaning would harm."""

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
        worst = max(SAFETY.index(gem.ultrasonic), SAFETY.index(gem.steam))
        if (group.feature, gem.name) in told or worst < 2:
            continue
        told.add((group.feature, gem.name))
        yield Finding(
            f"{gem.title.lower()} may not go through every cleaning",
            group.feature,
            f"ultrasonic: {gem.ultrasonic}; steam: {gem.steam}",
            "safe or usually safe in both",
            "clean and polish before setting; afterwards lukewarm water and a soft brush",
            float(worst),
            1.0,
            key="gem",
            keys=("gem",),
        )


RULE = Rule(
    "wet-stone",
    "A stone that ultrasonic or steam would harm.",
    "plan",
    Level.NOTE,
    "Ultrasonic opens cleavages and shakes out fillings; steam is a sudden change of heat.",
    "Finish the metal before setting, and clean such a piece by hand.",
    "STC stuller.com to-steam-or-not-to-steam, by stdlib/tables/gems.tsv",
    _check,
)
