"""hemmed-prong: no room behind a prong for the tool that pushes it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        hem = around.hem
        if hem is None or hem.owner < 0:
            continue
        bound = piece.bound("hemmed-prong", "least", hem.owner)
        if below(hem.figure, bound):
            yield Verdict(
                f"{piece.name_of(hem.owner)} stands close behind a prong",
                hem.owner,
                f"{mm(hem.figure)} behind a prong of stone {stone + 1}",
                least(mm(bound)),
                "lower that metal below the girdle, or move it away",
                hem.figure,
                bound,
                place=place(hem.at),
            )
