"""Stones that take no heat once they are set."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.gems import GEMS, SAFETY
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


_HEAT = {"risky": "a risk to it", "never": "sure to harm it"}


def _check(piece: Piece) -> Iterator[Finding]:
    told: set[tuple[int, str]] = set()
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if (group.feature, gem.name) in told or gem.torch not in SAFETY[2:]:
            continue
        told.add((group.feature, gem.name))
        yield Finding(
            f"{gem.spoken}: no torch near it once it is set; solder and size first, set last",
            group.feature,
            f"heat is {_HEAT[gem.torch]}",
            "heat is safe for it",
            "do all soldering before setting, and never cast it in place",
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
