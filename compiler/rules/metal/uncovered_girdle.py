"""uncovered-girdle: metal over the girdle, but too little of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        if not around.grip > 0:
            continue  # see loose-stone
        lap = min(
            (lap for lap in around.laps if lap.over >= around.grip), key=lambda one: one.over
        )
        owner = lap.owner if lap.owner >= 0 else int(piece.stones.feature[stone])
        bound = piece.bound("uncovered-girdle", "least", owner)
        if below(around.grip, bound):
            yield Verdict(
                f"{piece.name_of(owner)} hardly laps over the girdle it holds",
                owner,
                f"{mm(around.grip)} over stone {stone + 1}",
                least(mm(bound)),
                "bring it nearer to the stone, or use thicker wire",
                around.grip,
                bound,
                keys=("bite", "wire"),
                place=place(lap.at),
            )


RULE = Rule(
    "uncovered-girdle",
    "Too little metal laps over a girdle.",
    "metal",
    Level.WARNING,
    "Cleaning up takes 0.1 mm and more off a casting; what is left must still lie over "
    "the stone.",
    "Let prongs bite deeper, or use thicker wire.",
    "house choice, no source; loss in finishing 0.10-0.15 mm IM i.materialise.com/forum/t/3309",
    _check,
)
