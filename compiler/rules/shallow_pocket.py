"""Pockets too shallow for the stone that is cemented in them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or not piece.is_for(seat, Role.INLAY):
            continue
        stone = piece.stones.of(bed.stone)
        deep = bed.sunk + stone.pavilion()
        bound = piece.bound("shallow-pocket", "least", seat) * (stone.crown() + stone.pavilion())
        if below(deep, bound):
            yield Verdict(
                "this pocket is shallow for its stone",
                int(piece.stones.feature[bed.stone]),
                f"{mm(max(deep, 0.0))} of the stone lies in it",
                f"{least(mm(bound))}, half its thickness",
                f"sink the stone {rounded_up(bound - deep)} deeper, as with 'level table'",
                deep,
                bound,
                place=place(piece.stones.frames[bed.stone, :, 3]),
            )
