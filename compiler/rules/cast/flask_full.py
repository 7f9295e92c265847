"""Pieces that do not go into the flask."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import least
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
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


RULE = Rule(
    "flask-full",
    "A piece does not go into the flask.",
    "cast",
    Level.WARNING,
    "Wax too near the flask lets the metal break through the investment there.",
    "Take a larger flask, or cast the piece in parts and solder it.",
    "a quarter inch to the sides, an inch to the top: codjewelry.com/2009/11/22/investing",
    _check,
)
