"""Prongs that miss their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, share
from ..judging.grips import astray
from ..judging.rule import Level, Mend, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    limit = piece.bound("prong-astray", "least")
    for grip in [*piece.best_grips, *astray(piece)]:
        bite = grip.bite / grip.wire
        missed = not grip.bite > 1e-9
        if below(bite, limit):
            yield Verdict(
                "this prong does not reach its stone"
                if missed
                else "this prong barely reaches its stone",
                grip.feature,
                f"{mm(-grip.bite)} short" if missed else f"{share(bite)} of the wire",
                f"{least(share(limit))} of the wire over the girdle",
                "move the prong inward",
                bite,
                limit,
                key="radius",
                keys=("bite",),
                place=place(grip.spot),
                level=Level.FAULT if missed else Level.WARNING,
                mend=Mend("bite", "25 %", "least"),
            )


RULE = Rule(
    "prong-astray",
    "A prong misses its stone.",
    "plan",
    Level.WARNING,
    "The setter cuts a bearing into the wire for the girdle; with no wire over the girdle "
    "there "
    "is nothing to cut, and a gap opens when the tip is bent.",
    "Let about a quarter of the wire lie over the girdle.",
    "house choice, no source",
    _check,
)
