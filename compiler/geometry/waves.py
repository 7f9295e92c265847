"""A path that sways to both sides of itself in even waves, as a graver's wavy line."""

from __future__ import annotations

import numpy as np

from .line import Line

SPOTS = 64  # to a wave


def waved(line: Line, count: int, sway: float) -> Line | None:
    """``line`` in ``count`` waves, ``sway`` mm to either side and on the face it lies on: a closed one begins
    on a crest to its inner (left) side, an open one begins and ends where it did, its first crest there too.
    None where a wave reaches beside that face."""
    fine = line.fine(line.length() / count / SPOTS)
    lengths = np.linalg.norm(fine.chords(), axis=1)
    stations = np.r_[0.0, np.cumsum(lengths)][: len(fine.points)]
    turn = 2 * np.pi * count * stations / lengths.sum()
    by = sway * (np.cos(turn) if line.closed else np.sin(turn))
    points = fine.points + by[:, None] * fine.lefts()
    return Line(points, fine.outs, line.closed, line.face).on_its_face()
