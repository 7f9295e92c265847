"""Rows of beads along a line: their size and how they follow one another. Lengths mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..bench.roles import Role
from .digits import mm, times
from .figure_rule import Aspect, Reading

if TYPE_CHECKING:
    from .bound import Bound
    from .grips import Grip
    from .piece import Piece

SAME = 1e-6
ASLANT = 0.05  # mm, what a bead that stands aslant, and its facets, take of its lap on the metal
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


def _pitches(piece: Piece) -> Iterator[Reading]:
    ground = min((one.index for one in piece.features if one.body is not None), default=0)
    for row in rows_of(piece):
        if row.feature > ground or row.usual_pitch > row.bead:  # the first metal lies on none
            yield Reading(row.feature, row.usual_pitch / row.bead, row.centres[0], row)


def _sizes(piece: Piece) -> Iterator[Reading]:
    for row in rows_of(piece):
        yield Reading(row.feature, row.bead, row.centres[0], row)


def _edge_sizes(piece: Piece) -> Iterator[Reading]:
    return (one for one in _sizes(piece) if piece.is_for(one.feature, Role.BEADED_EDGE))


def _grains(piece: Piece) -> Iterator[Reading]:
    for grain in piece.grains:
        if grain.wire <= _said(piece, grain):
            yield Reading(grain.feature, grain.wire, grain.spot, grain)


def _nook_grains(piece: Piece) -> Iterator[Reading]:
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


# The pitch of a row, in beads; the diameter of the beads of a row, of an edge, of those that hold,
# and of those that are thicker than their text says because their nook is wide.
PITCH = Aspect(
    _pitches, "fit", ("pitch",),
    seen=lambda reading: f"pitch {times(reading.figure)} the bead",
    limit=lambda bound, reading: f"{mm(bound * reading.of.bead)}, {times(bound)} the bead",
    value=lambda _, reading: f"{reading.of.bead * 1.05:.2f} mm",
)  # fmt: skip
BEAD = Aspect(_sizes, "across", ("bead",))
EDGE_BEAD = Aspect(_edge_sizes, "across", ("bead",))
GRAIN = Aspect(_grains, "wire", ("bead",))
NOOK_GRAIN = Aspect(_nook_grains, "wire", ("for",))
