"""Stones that stand too near one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place
from ..judging.gaps import Gap
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    cast, cut = (
        piece.bound("crowded-stones", "cast"),
        piece.bound("crowded-stones", "cut-by-hand"),
    )
    for gap in piece.gaps:
        if below(gap.width, 0.0):
            yield _found(piece, gap, "two stones overlap", 0.0, "they may not even touch", Level.FAULT)
        elif gap.channel:  # girdle to girdle, no metal between
            continue
        elif gap.bar:
            bar = piece.bound("crowded-stones", "bar")
            if below(gap.width, bar):
                thin = "two stones stand too close for a bar between them"
                yield _found(piece, gap, thin, bar, least(mm(bar)), Level.WARNING)
        elif below(gap.width, cut):
            yield _found(
                piece,
                gap,
                "two stones stand too close even to cut the seats by hand",
                cut,
                least(mm(cut)),
                Level.WARNING,
            )
        # Between stones that share prongs there is no wall to fill, but a saddle.
        elif not gap.shares and below(gap.width, cast):
            yield _found(
                piece,
                gap,
                "two stones stand too close for seats that are cast",
                cast,
                least(mm(cast)),
                Level.WARNING,
            )


def _found(
    piece: Piece, gap: Gap, message: str, bound: float, limit: str, level: Level
) -> Verdict:
    from ..judging.remedies import apart_from, farther

    kind = "bar" if gap.bar else "cut-by-hand" if gap.shares else "cast"
    wanted = piece.bound("crowded-stones", kind)
    return Verdict(
        message,
        gap.feature,
        f"{mm(gap.width)} apart",
        limit,
        apart_from(piece, gap.first, gap.second, wanted - gap.width),
        gap.width,
        bound,
        key="every",
        keys=("every", "fit", "number", "radius", "circle"),
        place=place(gap.place),
        level=level,
        mend=farther(piece, gap.first, gap.second, wanted - gap.width),
    )


RULE = Rule(
    "crowded-stones",
    "Two stones stand too near one another.",
    "plan",
    Level.WARNING,
    "Stones differ by a few hundredths and chip when they touch; between cast seats the metal "
    "must be thick enough to fill and to stand the setter's work.",
    "Widen the pitch, or take stones a size smaller.",
    "common practice, no source; never overlapping: PJ2 professionaljeweler.com "
    "2002/jul02/0702pb1",
    _check,
    follows=("stone-overlap",),
)
