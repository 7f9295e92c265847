"""Prongs that miss their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import below, least, mm, place, share
from ..judging.grips import astray
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

CLEAR = 0.1  # mm that a prong must rise past the height where metal over the girdle is looked for
BESIDE = 8.0  # degrees


def check(piece: Piece) -> Iterator[Verdict]:
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


def on_metal(piece: Piece) -> Iterator[Verdict]:
    """Prongs that a later cut took away where they lie over their stone, others of which are left; of a
    stone without any see loose-stone."""
    from ..judging.forms import OVER

    for grip in piece.grips:
        measures = piece.stone_measures
        form = measures.form(grip.stone)
        limit = piece.bound("prong-astray", "least", grip.feature)
        over = (form.high - form.low) / 2 + OVER[0] * (form.top - form.high)
        if below(grip.bite / grip.wire, limit) or grip.tip < over + CLEAR:
            continue  # it lies over nothing by its own line
        if form.top - form.high < CLEAR:
            continue  # over a flat stone it lies once it is pushed over
        across, along, _ = measures.stones[grip.stone].own(np.array(grip.spot)).tolist()
        way = float(np.degrees(np.arctan2(along, across)))
        laps = measures.surrounds[grip.stone].laps
        over_it = ((way - lap.start + BESIDE) % 360.0 <= lap.end - lap.start + 2 * BESIDE for lap in laps)
        if laps and not any(over_it):
            yield Verdict(
                "this prong is cut away where it should lie over its stone",
                grip.feature,
                f"no metal of it over stone {grip.stone + 1}",
                f"{least(share(limit))} of the wire over the girdle",
                "move the cut off it, or put the line of the cut above that of the prong",
                0.0,
                limit,
                place=place(grip.spot),
                level=Level.FAULT,
            )
