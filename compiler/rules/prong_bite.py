"""Prongs that lie too far over their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, most, place, share
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit, advised = piece.bound("prong-bite", "most"), piece.bound("prong-bite", "advised")
    for grip in piece.grips:
        bite = grip.bite / grip.wire
        if above(bite, advised):
            bound = limit if above(bite, limit) else advised
            yield Finding(
                "the seat takes too much out of this prong",
                grip.feature,
                share(bite),
                most(share(bound)),
                "move the prong outward, or take thicker wire",
                bite,
                bound,
                key="radius",
                keys=("bite", "wire"),
                place=place(grip.spot),
                level=Level.WARNING if above(bite, limit) else Level.NOTE,
                mend=Mend("bite", f"{advised * 100:g} %", "most"),
            )


RULE = Rule(
    "prong-bite",
    "Too much of a prong is cut away for the seat.",
    "plan",
    Level.WARNING,
    "What is left behind the girdle bends the tip and holds the stone; past half the wire it "
    "breaks when it is pushed over, or later.",
    "Let less of the wire lie over the girdle, or take thicker wire.",
    "GIA1 gia.edu/quality-assurance-benchmark/setting-round-center-stone-ring-platinum-prong; "
    "PJ professionaljeweler.com 2004/jul04/0704pb1",
    _check,
)
