"""Stones too near the edge of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.bezels import is_cup
from ..judging.digits import below, least, mm, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
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
            others=(seat,),
        )


RULE = Rule(
    "stone-near-edge",
    "A stone sits too near the edge of its metal.",
    "plan",
    Level.WARNING,
    "The rim beside the girdle is thinned by filing and polishing; too little of it tears open "
    "when the seat is cut or the piece is knocked.",
    "Leave 0.4 mm of metal outside the girdle, 0.3 mm at the least.",
    "common practice, no source",
    _check,
)
