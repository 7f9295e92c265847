"""Strokes that leave out the stones in their way: the stretches of a line off their girdles. Lengths mm."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ..bench.feature import Feature
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.line import Line
from ..geometry.outlines import trace
from .common import length

STEP = 0.05  # between the spots looked at along a line
NEAR = 1.0  # above or below a girdle, what runs there runs in the metal that holds it
FINE = 0.02  # chord error of the girdles

CLEAR = (
    Take(
        "clear-of", Kind.STONES,
        "stones in the way of a stroke 'along' a path, of a line above: it ends before each and goes on "
        "behind it", goes_with=("stroke",),
    ),
    length(
        "gap", "the metal left between such a stone and the stroke", default="0.4 mm", most=10.0,
        goes_with=("clear-of",),
    ),
)


def spared(call: Call, line: Line) -> list[Line]:
    """The stretches of a line that a stroke goes along, off the stones it is to leave out."""
    stones = call.get("clear-of")
    if not isinstance(stones, Feature):
        return [line]
    fine, room = line.fine(STEP), call.get("gap") + call.get("stroke") / 2
    taken = np.zeros(len(fine.points), dtype=bool)
    for k, frame in enumerate(stones.frames):
        kind = stones.kind(k)
        seen = fr.apply(fr.inverse(frame), fine.points)
        inside = inside_loops([trace(kind.outline, FINE)], seen[:, :2])
        taken |= (inside > -room) & (np.abs(seen[:, 2]) < NEAR + abs(kind.crown()))
    if not taken.any():
        call.refuse(
            "clause-idle", f"no stone of {stones.name} is in the way of this stroke", "clear-of",
            remedy="leave clear-of out",
        )
    kept = _in_turn(taken, line.closed)
    if not kept:
        call.refuse(
            "no-places", f"the stones of {stones.name} leave nothing of this stroke", "clear-of",
            remedy="write a smaller gap, or leave the line out",
        )
    return [Line(fine.points[one], fine.outs[one], False, fine.face) for one in kept]


def _in_turn(taken: np.ndarray, closed: bool) -> list[np.ndarray]:
    """The runs of spots that are not taken, in turn, two or more in each; of a closed line past its start."""
    start = int(taken.argmax()) if closed else 0
    kept = np.flatnonzero(~np.roll(taken, -start))
    runs = np.split(kept, np.flatnonzero(np.diff(kept) > 1) + 1)
    return [(one + start) % len(taken) for one in runs if len(one) > 1]
