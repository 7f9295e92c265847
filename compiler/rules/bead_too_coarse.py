"""Beads too coarse for a beaded edge."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.beads import rows_of
from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("bead-too-coarse", "advised")
    yield from _setting(piece)
    for row in rows_of(piece):
        if piece.within(row.feature, "bead-line") and above(row.bead, limit):
            yield Finding(
                "these beads are coarse for a beaded edge",
                row.feature,
                mm(row.bead),
                most(mm(limit)),
                "take smaller beads, or `ball` for granules",
                row.bead,
                limit,
                key="across",
                keys=("bead",),
                place=place(row.centres[0]),
                mend=Mend("across", rounded_down(limit), "most"),
            )


def _setting(piece: Piece) -> Iterator[Finding]:
    """Beads that hold stones."""
    limit = piece.bound("bead-too-coarse", "setting")
    for grain in piece.grains:
        if above(grain.wire, limit):
            yield Finding(
                "these beads are coarse beside their stones",
                grain.feature,
                mm(grain.wire),
                most(mm(limit)),
                "take smaller beads, or bring the stones closer",
                grain.wire,
                limit,
                key="across",
                keys=("bead",),
                place=place(grain.spot),
            )


RULE = Rule(
    "bead-too-coarse",
    "Beads are coarse.",
    "plan",
    Level.NOTE,
    "A beaded edge reads as a fine line of light; coarse beads look like granules and take "
    "room from the stones.",
    "Take beads of 0.35 to 0.6 mm.",
    "common practice, no source",
    _check,
)
