"""Bezels that cover too much of the stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

# Cuts without a crown of facets: the wall may go up as it likes.
ROUNDED = ("cabochon", "pearl")
# What the edge loses in height as it is laid over and filed, mm: house choice, no source.
SPARE = 0.2


def _check(piece: Piece) -> Iterator[Finding]:
    share = piece.bound("high-bezel", "crown")
    for bezel in piece.bezels:
        setting = piece.stones.of(bezel.stone)
        cut, sizes = CUTS[setting.cut], (setting.length, setting.width)
        half = cut.girdle_thickness(*sizes) / 2
        limit = half + SPARE + share * cut.crown_height(*sizes)
        if setting.cut not in ROUNDED and above(bezel.lip, limit):
            yield Finding(
                "this bezel covers much of its stone",
                bezel.feature,
                f"{mm(bezel.lip)} above the girdle",
                most(mm(limit)),
                "make the wall lower",
                bezel.lip,
                limit,
                key="height",
                keys=("lip", "height"),
                place=place(piece.stones.frames[bezel.stone, :, 3]),
                mend=Mend("lip", rounded_down(limit), "most"),
            )


RULE = Rule(
    "high-bezel",
    "A bezel is too high.",
    "plan",
    Level.NOTE,
    "Metal far up the crown makes a stone look small and folds when it is rubbed over.",
    "Let it cover 20 to 30 % of the crown.",
    "common practice, no source",
    _check,
)
