"""Rows of beads along a line: their size and how they follow one another. Lengths mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..bench.roles import Role
from .bound import Bound
from .digits import mm
from .figure_rule import Reading
from .grips import Grip
from .piece import Piece

SAME = 1e-6
ASLANT = 0.05  # mm, what a bead that stands aslant, and its facets, take of its lap on the metal
REACHED = 0.25  # mm, between beads farther apart a graver and a thread go: house choice, no source
FEWEST = 4  # balls along a line that make a row of beads


@dataclass(frozen=True)
class Row:
    """One row: its line, the bead's diameter, the centres (n, 3), the ways they stand up (n, 3), and the
    pitch from each bead to the next (n - 1,), jumps to another line left out."""

    feature: int
    bead: float
    centres: np.ndarray
    ways: np.ndarray
    pitch: np.ndarray

    @property
    def usual_pitch(self) -> float:
        """The pitch in the middle of all, mm (numpy's own median loads masked arrays)."""
        ranked = np.sort(self.pitch)
        return float(ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]) / 2


def rows_of(piece: Piece) -> Iterator[Row]:
    """Every row of beads, in order."""
    for feature, call in piece.with_role(Role.BEAD):
        bead = call.get("across")
        if not call.given("along") or len(feature.frames) < FEWEST:
            continue
        ways = feature.frames[:, :, 2]
        centres = feature.frames[:, :, 3] + ways * bead / 2
        pitch = np.linalg.norm(np.diff(centres, axis=0), axis=1)
        near = pitch[pitch < 4 * bead] if (pitch < 4 * bead).any() else pitch
        yield Row(feature.index, float(bead), centres, ways, near)


def pitches(piece: Piece) -> Iterator[Reading]:
    """The usual pitch of each row, in beads."""
    ground = min((one.index for one in piece.features if one.body is not None), default=0)
    for row in rows_of(piece):
        if row.usual_pitch - row.bead > REACHED:
            continue  # grains by themselves
        if row.feature > ground or row.usual_pitch > row.bead:  # the first metal lies on none
            yield Reading(
                row.feature, row.usual_pitch / row.bead, row.centres[0],
                words={"apart": lambda bound, row=row: mm(bound * row.bead)},
                value=lambda _, row=row: f"{row.bead * 1.05:.2f} mm",
            )  # fmt: skip


def sizes(piece: Piece) -> Iterator[Reading]:
    """The beads of each row."""
    for row in rows_of(piece):
        yield Reading(row.feature, row.bead, row.centres[0], row)


def edge_sizes(piece: Piece) -> Iterator[Reading]:
    """The beads of each edge."""
    return (one for one in sizes(piece) if piece.is_for(one.feature, Role.BEADED_EDGE))


def grains(piece: Piece) -> Iterator[Reading]:
    """The beads that hold stones."""
    for grain in piece.grains:
        if grain.wire <= _said(piece, grain):
            yield Reading(grain.feature, grain.wire, grain.spot, grain)


def nook_grains(piece: Piece) -> Iterator[Reading]:
    """Those that are thicker than their text says because their nook is wide."""
    held = Counter((grain.feature, grain.rod) for grain in piece.grains)
    for grain in piece.grains:
        between = held[grain.feature, grain.rod] > 1  # beside one stone alone there is no nook
        if between and grain.wire > _said(piece, grain):
            yield Reading(grain.feature, grain.wire, grain.spot, grain)


def _said(piece: Piece, grain: Grip) -> float:
    """The thickness the text gives the beads of a setting: in a wide nook they are thicker."""
    told = piece.call(grain.feature).figure("bead")
    return grain.wire if told is None else float(told) + SAME


def needed(piece: Piece, limit: Bound, reading: Reading) -> Bound:
    """The limit, or as thick as a bead must be to lap over its girdle: see uncovered-girdle."""
    spare = reading.of.bite - piece.bound("uncovered-girdle", "least", reading.feature) - ASLANT
    return limit + max(reading.figure - 2 * spare - limit, 0.0)
