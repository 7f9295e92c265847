"""Seats too tight for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("tight-seat", "least")
    for seat in sorted(set(piece.seated.values())):
        room = piece.call(seat).get("clearance")
        if room is not None and below(room, limit):
            yield Finding(
                "the seat is tight: stones vary by more",
                seat,
                f"{mm(room)} all round",
                least(mm(limit)),
                "say `clearance 0.04 mm`",
                room,
                limit,
                key="clearance",
                keys=("clearance",),
                mend=Mend("clearance", "0.04 mm", "least"),
            )


RULE = Rule(
    "tight-seat",
    "A seat is too tight.",
    "plan",
    Level.WARNING,
    "Stones of one size differ by some hundredths, and casting shrinks the seat; a stone "
    "forced in chips at the girdle.",
    "Leave 0.03 to 0.05 mm of room all round.",
    "house choice, no source",
    _check,
)
