"""Bezels that cover too little of the stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ..judging.bezels import Bezel
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for bezel in piece.bezels:
        limit = _limit(piece, bezel)
        if below(bezel.lip, limit):
            yield Finding(
                "this bezel hardly covers its stone",
                bezel.feature,
                f"{mm(bezel.lip)} above the girdle",
                least(mm(limit)),
                "make the wall higher",
                bezel.lip,
                limit,
                key="height",
                keys=("lip", "height"),
                place=place(piece.stones.frames[bezel.stone, :, 3]),
                mend=Mend("lip", rounded_up(limit), "least"),
            )


def _limit(piece: Piece, bezel: Bezel) -> float:
    """How far above the girdle's middle the wall has to rise."""
    setting = piece.stones.of(bezel.stone)
    cut, sizes = CUTS[setting.cut], (setting.length, setting.width)
    crown, half = cut.crown_height(*sizes), cut.girdle_thickness(*sizes) / 2
    if setting.cut != "cabochon":
        return half + piece.bound("low-bezel", "crown") * crown
    share, spare = piece.bound("low-bezel", "cabochon"), piece.bound("low-bezel", "above-wall")
    # The height counts from the cabochon's back, which is half its upright wall below.
    return max(half + spare, share * cut.total_depth(*sizes) - half)


RULE = Rule(
    "low-bezel",
    "A bezel is too low.",
    "plan",
    Level.WARNING,
    "The edge is rubbed over the girdle onto the slope of the stone; with too little of it "
    "the stone can spring out.",
    "Let it cover a fifth of the crown; for a cabochon pass its upright wall and reach a "
    "third of its height.",
    "MA maryannedejongjewelry.store; OR4 orchid.ganoksin.com/t/37651; faceted: common "
    "practice, no source",
    _check,
)
