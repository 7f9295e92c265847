"""Stones sunk below the face of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.bezels import is_cup
from ..judging.digits import above, mm, most, place
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


SETTING = 0.02  # mm, no setter sinks a table level with the face any closer


def check(piece: Piece) -> Iterator[Verdict]:
    share = piece.bound("deep-seat", "sunk")
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        limit = share * piece.stones.of(bed.stone).crown()
        if seat is None or is_cup(piece, bed) or not above(bed.sunk, limit + SETTING):
            continue
        yield Verdict(
            "this stone lies below the face of its metal",
            seat,
            f"girdle {mm(bed.sunk)} below the face",
            most(f"{mm(limit)}, its crown"),
            "set it higher, or make the body thinner",
            bed.sunk,
            limit,
            key="for",
            keys=("for", "in"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
        )
