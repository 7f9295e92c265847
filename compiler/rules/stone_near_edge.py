"""Stones too near the edge of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.bezels import is_cup
from ..judging.digits import below, least, mm, place
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    floor, advised = (
        piece.bound("stone-near-edge", "least"),
        piece.bound("stone-near-edge", "advised"),
    )
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or not below(bed.edge, advised):
            continue
        past, near = below(bed.edge, 0.0), below(bed.edge, floor)
        # Its sides are cut away, and shared prongs or bars hold it.
        shared = bed.stone in piece.shared or bed.stone in piece.barred
        if shared and not past:
            continue
        bound = 0.0 if past else floor if near else advised
        yield Verdict(
            "a stone reaches past the edge of its metal"
            if past
            else "a stone sits near the edge of its metal",
            bed.body,
            f"{mm(bed.edge)} of metal outside the girdle",
            least(mm(bound)),
            "make the body wider, or the stone smaller",
            bed.edge,
            bound,
            key="size",
            keys=("size", "across", "wide"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
            level=Level.FAULT if past and not shared else Level.WARNING if near else Level.HINT,
        )
