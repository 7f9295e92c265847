"""Seats without a ledge for the stone to sit on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place
from ..judging.rule import Finding, Level, Rule
from ..judging.seats import cut_into
from ..judging.stone_table import pavilion_of

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("shallow-seat", "ledge")
    beds = {bed.stone: bed for bed in piece.beds}
    for stone, seat in piece.seated.items():
        setting = piece.stones.of(stone)
        hole = (piece.call(seat).get("hole") or 0.0) * setting.width
        bed = beds.get(stone)
        above = max(0.0, -bed.sunk) if bed and cut_into(piece, seat, bed) else 0.0
        # Above the face the stone only meets metal where its pavilion has come in so far.
        wide = setting.width * (1 - min(1.0, above / pavilion_of(setting)))
        ledge = (wide - hole) / 2
        if below(ledge, limit):
            yield Finding(
                "the seat leaves hardly a ledge for the stone",
                seat,
                f"{mm(max(0.0, ledge))} wide",
                least(mm(limit)),
                "make the light hole smaller, or set the stone lower",
                ledge,
                limit,
                key="hole",
                keys=("hole", "bearing"),
                place=place(piece.stones.frames[stone, :, 3]),
            )


RULE = Rule(
    "shallow-seat",
    "A seat has too little ledge under the stone.",
    "plan",
    Level.WARNING,
    "The stone rests on the ledge all round; on a thin one it tips when the first prong is "
    "pushed, or breaks through.",
    "Keep a ledge of 0.2 to 0.3 mm: a smaller light hole, or the girdle nearer the face.",
    "MJ misterjewel.com (low trust)",
    _check,
)
