"""Beads too fine to print and cast."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.beads import rows_of
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    floor, advised = (
        piece.bound("bead-too-fine", "least"),
        piece.bound("bead-too-fine", "advised"),
    )
    yield from _setting(piece)
    for row in rows_of(piece):
        if below(row.bead, advised):
            fine = below(row.bead, floor)
            bound = floor if fine else advised
            yield Finding(
                "these beads are too fine to print and cast"
                if fine
                else "these beads are fine",
                row.feature,
                mm(row.bead),
                least(mm(bound)),
                f"make them {rounded_up(advised)}",
                row.bead,
                bound,
                key="across",
                keys=("bead",),
                place=place(row.centres[0]),
                level=Level.WARNING if fine else Level.NOTE,
                mend=Mend("across", rounded_up(advised), "least"),
            )


def _setting(piece: Piece) -> Iterator[Finding]:
    """Beads that hold stones."""
    limit = piece.bound("bead-too-fine", "setting")
    for grain in piece.grains:
        if below(grain.wire, limit):
            yield Finding(
                "these beads are too fine to hold a stone",
                grain.feature,
                mm(grain.wire),
                least(mm(limit)),
                f"make them {rounded_up(limit)}",
                grain.wire,
                limit,
                key="across",
                keys=("bead",),
                place=place(grain.spot),
                mend=Mend("bead", rounded_up(limit), "least"),
            )


RULE = Rule(
    "bead-too-fine",
    "Beads are too fine.",
    "plan",
    Level.WARNING,
    "Small beads run together in the print, fill badly and vanish under the polishing wheel.",
    "Take beads of 0.35 to 0.6 mm.",
    "common practice, no source",
    _check,
)
