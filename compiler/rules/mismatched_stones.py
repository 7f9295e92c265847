"""Stones whose two reckoned weights disagree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ...stdlib.gems import GEMS
from ..judging.digits import above, most, share
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    from ...stdlib.stones import weigh

    limit = piece.bound("mismatched-stones", "most")
    told: set[tuple[object, ...]] = set()
    for group in piece.stone_sets:
        setting = group.setting
        key = (group.feature, *setting.figures)
        measured = setting.carats is not None or setting.form != setting.cut
        if key in told or setting.cut == "round" or measured:
            # a round's two weights agree by design; one weighed, or of measured depth, needs no formula
            continue
        told.add(key)
        gem = GEMS[setting.gem]
        weight = weigh(
            CUTS[setting.form],
            setting.length,
            setting.width,
            setting.narrow,
            gem.density,
            gem.formula,
        )
        off = abs(weight.carats_volume / weight.carats_formula - 1)
        # The solid is cut like a diamond: coloured stones of any shape are deeper by trade.
        alike = CUTS[setting.form].carats(
            setting.length, setting.width, setting.narrow, density=gem.density
        )
        if above(min(off, abs(weight.carats_volume / alike - 1)), limit):
            yield Verdict(
                "the stone's weight by formula and by volume disagree",
                group.feature,
                f"{weight.carats_formula:.2f} ct and {weight.carats_volume:.2f} ct, "
                f"{share(off)} apart",
                most(share(limit)),
                "weigh the stone itself before you quote",
                off,
                limit,
                key=setting.cut,
                keys=(setting.cut,),
            )
