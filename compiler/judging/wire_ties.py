"""Where wires of a piece cross or meet one another, as laid out. Lengths mm."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line, thawed
from ..measures.kinds import Floats
from .pairs import near_pairs
from .piece import Piece

MOST = 400  # spots a wire, so that long chains stay quick


def wire_ties(piece: Piece, wires: Collection[int]) -> Floats:
    """Spots (n, 3) on the middle lines of ``wires`` (features) where another solid wire is in
    touch: a wire is free only from one such spot to the next."""
    spots, half, solid = [], [], []
    for number, (line, thick) in enumerate(_lines(piece, wires)):
        spots.append(line)
        half.append(np.full(len(line), thick / 2))
        solid.append(np.full(len(line), number))
    if len(spots) < 2:
        return np.zeros((0, 3))
    at, radius, owner = (np.concatenate(part) for part in (spots, half, solid))
    one, two = near_pairs(at, at, 2 * float(radius.max()))
    touch = owner[one] != owner[two]
    touch &= np.linalg.norm(at[one] - at[two], axis=1) < radius[one] + radius[two]
    return np.asarray(at[np.unique(one[touch])])


def _lines(piece: Piece, wires: Collection[int]) -> Iterator[tuple[Floats, float]]:
    """The middle line of every single wire, in spots about half its thickness apart, and its
    greatest thickness."""
    for solid in piece.plan_solids:
        if solid.kind != "wire" or solid.feature not in wires or solid.cut:
            continue
        figures, _, wide, high, *rest = solid.figures
        thick, line = float(max(wide, high)), thawed(figures)
        if len(rest) > 2 and rest[2] is not None:  # a stretch of one that crosses itself
            first, last = (station / line.length() for station in rest[2])
            line = line.part(first, last)
        points = _spots(line, thick / 2)
        for frame in solid.frames:
            yield fr.apply(frame, points), thick


def _spots(line: Line, apart: float) -> Floats:
    """Points along a line, no more than about ``apart`` mm from one to the next."""
    points = np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
    run = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    at = np.linspace(0.0, run[-1], 1 + min(MOST, int(np.ceil(run[-1] / apart))))
    return np.stack([np.interp(at, run, points[:, axis]) for axis in range(3)], axis=1)
