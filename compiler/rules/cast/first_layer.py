"""A first layer too small to hold a piece on the plate."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import least, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        bound = piece.bound("first-layer", "least", plan.feature)
        if plan.first is not None and plan.first < bound:
            yield Verdict(
                "it stands on the plate on too little",
                plan.feature,
                f"{plan.first:.2g} mm2",
                least(f"{bound:g} mm2"),
                "lift it on props (lift in [printer] of bench.toml), or turn it",
                plan.first,
                bound,
                place=place(plan.middle),
            )
