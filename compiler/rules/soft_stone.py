"""Stones too soft for a ring."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.gems import GEMS
from ..judging.digits import below, least
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    if not piece.rings:
        return
    usual, floor = piece.bound("soft-stone", "ring"), piece.bound("soft-stone", "ring-least")
    told: set[tuple[int, str]] = set()
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if (group.feature, gem.name) in told or not below(gem.mohs_low, usual):
            continue
        told.add((group.feature, gem.name))
        soft = below(gem.mohs_low, floor)
        bound = floor if soft else usual
        yield Verdict(
            f"{gem.title.lower()} is soft for a ring",
            group.feature,
            f"{gem.mohs_low:g} on Mohs' scale",
            least(f"{bound:g}"),
            "set it low behind a bezel, or choose a harder stone; tell the customer",
            gem.mohs_low,
            bound,
            key="gem",
            keys=("gem",),
            level=Level.WARNING if soft else Level.HINT,
        )


RULE = Rule(
    "soft-stone",
    "A soft stone in a ring.",
    "plan",
    Level.HINT,
    "House dust holds quartz, hardness 7; what is softer loses its polish and edges on a hand.",
    "Protect it with a bezel, keep it for earrings and pendants, or choose a harder stone.",
    "common practice, no source; hardness by stdlib/tables/gems.tsv",
    _check,
    advice=True,
)
