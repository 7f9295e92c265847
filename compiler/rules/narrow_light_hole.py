"""Light holes too narrow for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, share
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("narrow-light-hole", "least")
    for stone, seat in piece.seated.items():
        hole = piece.call(seat).get("hole")
        if hole is not None and below(hole, limit):
            width = piece.stones.of(stone).width
            yield Finding(
                "the light hole under this stone is narrow",
                seat,
                f"{share(hole)} of its width, {mm(hole * width)}",
                f"{least(share(limit))} of its width",
                f"say `hole {100 * limit:g} %`",
                hole,
                limit,
                key="hole",
                keys=("hole",),
                mend=Mend("hole", f"{100 * limit:g} %", "least"),
            )


RULE = Rule(
    "narrow-light-hole",
    "A light hole is too narrow.",
    "plan",
    Level.NOTE,
    "A narrow hole keeps the stone dark, and investment breaks away in it and leaves grit in "
    "the metal.",
    "Make it half the stone's width or a little more.",
    "common practice, no source",
    _check,
)
