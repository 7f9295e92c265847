"""Seats too slack for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("slack-seat", "most")
    for seat in sorted(set(piece.seated.values())):
        room = piece.call(seat).get("clearance")
        if room is not None and above(room, limit):
            yield Finding(
                "the seat is loose round its stone",
                seat,
                f"{mm(room)} all round",
                most(mm(limit)),
                "say `clearance 0.04 mm`",
                room,
                limit,
                key="clearance",
                keys=("clearance",),
                mend=Mend("clearance", "0.04 mm", "most"),
            )


RULE = Rule(
    "slack-seat",
    "A seat is too loose.",
    "plan",
    Level.WARNING,
    "In a loose seat the stone shifts under the pusher and the girdle stands free of the "
    "metal.",
    "Leave 0.03 to 0.05 mm of room all round.",
    "house choice, no source",
    _check,
)
