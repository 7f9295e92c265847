"""A piece larger than the room of the printer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import most, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        bound = piece.bound("off-plate", "most", plan.feature)
        if plan.room > bound:
            yield Verdict(
                "it does not fit on the printer",
                plan.feature,
                f"{plan.room:.2f} times its room",
                most(f"{bound:g}"),
                "print it in parts, or on a larger printer ([printer] in bench.toml)",
                plan.room,
                bound,
                place=place(plan.middle),
            )
