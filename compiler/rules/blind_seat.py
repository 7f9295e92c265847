"""Seats whose light hole does not come out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule
from ..judging.seats import cut_into

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        deep = piece.call(seat).get("deep") if seat is not None else None
        if seat is None or deep is None or not below(deep, bed.below):
            continue
        if "blind" in piece.said(seat) or not cut_into(piece, seat, bed):
            continue
        yield Finding(
            "the light hole under this stone does not come out",
            seat,
            f"{mm(deep)} deep",
            f"{mm(bed.below)} of metal below the girdle",
            "leave 'deep' out: the hole then goes through",
            deep,
            bed.below,
            key="deep",
            keys=("deep",),
            place=place(piece.stones.frames[bed.stone, :, 3]),
            mend=Mend("deep", rounded_up(bed.below + 0.2), "least"),
        )


RULE = Rule(
    "blind-seat",
    "A seat has no way out at the back.",
    "plan",
    Level.WARNING,
    "A hole under the stone lets light in, lets wax and investment out, and lets the setter "
    "and "
    "the wearer clean behind the stone.",
    "Let the light hole go through the metal.",
    "common practice, no source",
    _check,
)
