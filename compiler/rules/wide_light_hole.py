"""Light holes too wide for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, share
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("wide-light-hole", "most")
    for stone, seat in piece.seated.items():
        hole = piece.call(seat).get("hole")
        if hole is not None and above(hole, limit):
            width = piece.stones.of(stone).width
            yield Finding(
                "the light hole under this stone is wide",
                seat,
                f"{share(hole)} of its width, {mm(hole * width)}",
                f"{most(share(limit))} of its width",
                f"say `hole {100 * limit:g} %`",
                hole,
                limit,
                key="hole",
                keys=("hole",),
                mend=Mend("hole", f"{100 * limit:g} %", "most"),
            )


RULE = Rule(
    "wide-light-hole",
    "A light hole is too wide.",
    "plan",
    Level.WARNING,
    "The wider the hole, the narrower the ledge that carries the stone.",
    "Keep it to 60 % of the stone's width.",
    "common practice, no source",
    _check,
)
