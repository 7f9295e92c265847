"""Beads: too fine, too coarse, run together or standing apart, off the edge of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..geometry import frames as fr
from ..judging.beads import Row, rows_of
from ..judging.digits import above, mm, most, place, rounded_up
from ..judging.edges import Neighbours, inside_by, reach
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def bead_off_edge(piece: Piece) -> Iterator[Verdict]:
    """Beads that hang over the edge they follow."""
    limit = piece.bound("bead-off-edge", "overhang")
    flat = Neighbours(f for f in piece.features if f.body is not None)
    for row in rows_of(piece):
        near = flat.near(row.centres, 2 * row.bead)
        if not near:
            continue
        # A bead is over the edge when none of the bodies it is near carries all of it.
        over = np.min([_overhang(row, body) for body in near], axis=0)
        worst = int(np.where(np.isfinite(over), over, 0.0).argmax())
        if np.isfinite(over[worst]) and above(over[worst], limit):
            said = piece.call(row.feature).figure("inset")
            # As far in as it lacks: half a bead, or more where the text goes that far in already.
            inset = rounded_up(max(row.bead / 2, float(said or 0.0) + float(over[worst])))
            yield Verdict(
                "these beads hang over the edge",
                row.feature,
                f"{mm(over[worst])} over",
                most(mm(limit)),
                f"say 'inset {inset}'",
                float(over[worst]),
                limit,
                key="inset",
                keys=("inset",),
                place=place(row.centres[worst]),
                mend=Mend("inset", inset, "least"),
            )


def _overhang(row: Row, body: Feature) -> np.ndarray:
    """How far each bead on the face or back of a body reaches past its edge (n,), 0 for none and
    infinite for a bead that does not lie on the body at all."""
    least = np.full(len(row.centres), np.inf)
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
        inside = np.full(len(local), -np.inf)
        inside[near] = inside_by(body.outline, local[near, :2])
        over = np.where(inside > -row.bead, np.maximum(row.bead / 2 - inside, 0.0), np.inf)
        least = np.minimum(least, over)
    return least
