"""broken-seat: a seat that comes out through the side of its body."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import above, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.forms import Surround
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        seat = piece.seated.get(stone)
        if seat is None or around.broken_at is None:
            continue
        if piece.services.around(seat, int(piece.stones.line[stone])):
            continue  # in what is made round the girdle: open where it is meant to be
        if _in_groove(piece, around):
            continue
        what = "shared" if stone in piece.shared else "most"
        bound = piece.bound("broken-seat", what, seat)
        if above(around.broken, bound):
            yield Verdict(
                "a seat breaks out through the side",
                seat,
                f"{around.broken:.0f} degrees of stone {stone + 1} stand open",
                f"{bound:g} degrees or less",
                "move the stones inward, take smaller ones, or widen the body",
                around.broken,
                bound,
                place=place(around.broken_at),
            )


def _in_groove(piece: Piece, around: Surround) -> bool:
    """Whether the body itself laps over the stone from both sides, as for one held by tension."""
    own = all(not piece.is_for(lap.owner, Role.PRONG, Role.GRAINS) for lap in around.laps)
    return own and around.free < 180.0


RULE = Rule(
    "broken-seat",
    "A seat breaks out through the side.",
    "metal",
    Level.WARNING,
    "Where the bearing is open the stone has nothing to rest on, and the edge beside it is a "
    "knife that does not cast.",
    "Move stones inward, or widen the body.",
    "house choice, no source",
    _check,
    follows=("stone-near-edge",),
)
