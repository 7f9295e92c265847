"""Too little metal under a stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.bezels import is_cup
from ..judging.digits import below, least, mm, place
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    floor = piece.bound("thin-floor", "under-seat")
    plate, given = (
        piece.bound("thin-floor", "pave-plate"),
        piece.bound("thin-floor", "pave-stone"),
    )
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or piece.is_for(seat, Role.INLAY):
            continue
        wanted = plate * (piece.stones.of(bed.stone).width / given)
        thin = below(bed.below, floor)
        if not thin and not (bed.stone in piece.shared and below(bed.below, wanted)):
            continue
        from ..judging.remedies import deeper

        bound = floor if thin else wanted
        yield Verdict(
            "there is too little metal under this stone"
            if thin
            else "the plate is thin for stones of this size in shared prongs",
            bed.body,
            f"{mm(max(0.0, bed.below))} below the girdle",
            least(mm(bound)),
            "make the body or the roof of the hollow thicker",
            bed.below,
            bound,
            key="size",
            keys=("size", "thick", "roof"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
            level=Level.WARNING if thin else Level.HINT,
            mend=deeper(piece, bed.body, bound - bed.below),
        )
