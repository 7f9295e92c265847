"""Beads that hang over the edge they follow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..geometry import frames as fr
from ..judging.beads import Row, rows_of
from ..judging.digits import above, mm, most, place, rounded_up
from ..judging.edges import Neighbours, inside_by, reach
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    limit = piece.bound("bead-off-edge", "overhang")
    flat = Neighbours(f for f in piece.features if f.body is not None)
    for row in rows_of(piece):
        for body in flat.near(row.centres, 2 * row.bead):
            over, where = _overhang(row, body)
            if above(over, limit):
                inset = rounded_up(row.bead / 2)
                yield Finding(
                    "these beads hang over the edge",
                    row.feature,
                    f"{mm(over)} over",
                    most(mm(limit)),
                    f"say 'inset {inset}'",
                    over,
                    limit,
                    key="inset",
                    keys=("inset",),
                    place=place(where),
                    mend=Mend("inset", inset, "least"),
                )
                break


def _overhang(row: Row, body: Feature) -> tuple[float, np.ndarray]:
    """How far the worst bead on the face or back of a body reaches past its edge, and where."""
    worst, where = 0.0, row.centres[0]
    assert body.outline is not None
    for frame in body.frames[:50]:
        local = fr.apply(fr.inverse(frame), row.centres)
        near = (
            np.minimum(np.abs(local[:, 2] - body.high), np.abs(local[:, 2] - body.low))
            < row.bead
        )
        near &= np.hypot(local[:, 0], local[:, 1]) < reach(body.outline) + row.bead
        if not near.any():
            continue
        inside = np.full(len(local), np.inf)
        inside[near] = inside_by(body.outline, local[near, :2])
        over = np.where(np.abs(inside) < row.bead, row.bead / 2 - inside, 0.0)
        if over.max() > worst:
            worst, where = float(over.max()), row.centres[int(over.argmax())]
    return worst, where


RULE = Rule(
    "bead-off-edge",
    "Beads hang over the edge.",
    "plan",
    Level.WARNING,
    "An overhanging bead is held by part of its foot, catches on cloth and breaks off.",
    "Move the row inward by half a bead.",
    "house choice, no source",
    _check,
)
