"""Pieces that do not go into the flask."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import least
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for pour in piece.pours:
        bound = piece.bound("flask-full", "least", pour.feature)
        if pour.room < bound:
            yield Verdict(
                f"{pour.called} does not go into the flask",
                pour.feature,
                f"{pour.room} of them",
                least(f"{bound:g}"),
                "take a larger flask ('inside', 'tall' below [flask] in bench.toml), or cast it in parts",
                float(pour.room),
                bound,
            )
