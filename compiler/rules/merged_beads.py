"""Beads that melt into one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.beads import rows_of
from ..judging.digits import below, least, mm, place, times
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("merged-beads", "pitch")
    for row in rows_of(piece):
        worst = row.usual_pitch / row.bead
        if below(worst, limit):
            yield Finding(
                "these beads run into one another",
                row.feature,
                f"pitch {times(worst)} the bead",
                least(f"{mm(limit * row.bead)}, {times(limit)} the bead"),
                "make the pitch about the size of a bead",
                worst,
                limit,
                key="fit",
                keys=("pitch",),
                place=place(row.centres[0]),
                mend=Mend("fit", f"{row.bead * 1.05:.2f} mm", "least"),
            )


RULE = Rule(
    "merged-beads",
    "Beads run into one another.",
    "plan",
    Level.NOTE,
    "Overlapping beads read as a wavy wire, not as a row of grains.",
    "Let the pitch be the bead's diameter or little more.",
    "common practice, no source",
    _check,
)
