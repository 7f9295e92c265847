"""Beads with gaps between."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.beads import rows_of
from ..judging.digits import above, mm, most, place, times
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("sparse-beads", "pitch")
    for row in rows_of(piece):
        worst = row.usual_pitch / row.bead
        if above(worst, limit):
            yield Finding(
                "these beads stand apart",
                row.feature,
                f"pitch {times(worst)} the bead",
                most(f"{mm(limit * row.bead)}, {times(limit)} the bead"),
                "make the pitch about the size of a bead",
                worst,
                limit,
                key="fit",
                keys=("pitch",),
                place=place(row.centres[0]),
                mend=Mend("fit", f"{row.bead * 1.05:.2f} mm", "most"),
            )


RULE = Rule(
    "sparse-beads",
    "Beads stand apart.",
    "plan",
    Level.NOTE,
    "Between beads that do not touch the edge shows flat and rough, where no tool reaches.",
    "Let the pitch be the bead's diameter or little more.",
    "common practice, no source",
    _check,
)
