"""What begins in mid air and no prop holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import place
from ...judging.pours import places
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for one, bound in places(piece, piece.prints, "island", "most", lambda plan: plan.islands):
        yield Verdict(
            "this begins in mid air, and no prop may hold it or reaches it",
            one.feature,
            f"in layer {one.other:.0f}",
            "something under it",
            "turn the piece on the plate, let it grow from metal below, or make that work after casting",
            one.figure,
            bound,
            place=place(one.at),
        )
