"""Beads: too fine, too coarse, run together or standing apart, off the edge of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...lang.faults import Level
from ..bench.feature import Feature
from ..geometry import frames as fr
from ..judging.beads import Row, rows_of
from ..judging.digits import above, below, least, mm, most, place, rounded_up, times
from ..judging.edges import Neighbours, inside_by, reach
from ..judging.pairs import near_pairs
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

SMALLER = np.arange(0.95, 0.4, -0.05)
MOST = 20_000  # beads of a row
STANDS = 0.5  # cosine to a face, more aslant a bead stands on the edge of something else


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


def merged_beads_on_metal(piece: Piece) -> Iterator[Verdict]:
    """Beads of one row that stand in one another where its path turns back beside itself, as at a horn."""
    bound = piece.bound("merged-beads", "crowd")
    for row in rows_of(piece):
        near = _nearest(row.centres, row.bead)
        worst = int(near.argmin())
        figure = float(near[worst]) / row.bead
        if below(figure, bound) and not below(row.usual_pitch / row.bead, bound):
            bead = _fitting(piece, row, bound)
            yield Verdict(
                "these beads stand in one another, where the path turns back beside itself",
                row.feature,
                f"{mm(float(near[worst]))} from middle to middle, {times(figure)} the bead",
                least(f"{mm(bound * row.bead)}, {times(bound)} the bead"),
                (f"write bead {bead}; or " if bead else "")
                + "blunt the horn or the corner, or leave it out by 'stretch'",
                figure,
                bound,
                key="along",
                keys=("along", "stretch"),
                place=place(row.centres[worst]),
                level=Level.WARNING,
                mend=Mend("bead", bead, "most") if bead else None,
            )


def _nearest(centres: np.ndarray, bead: float) -> np.ndarray:
    """How far each bead stands from the nearest other, (n,) mm, a whole ``bead`` at most."""
    first, second = near_pairs(centres, centres, bead)
    far = np.full(len(centres), bead)
    other = first != second
    first, second = first[other], second[other]
    np.minimum.at(far, first, np.linalg.norm(centres[first] - centres[second], axis=1))
    return far


def _fitting(piece: Piece, row: Row, bound: float) -> str | None:
    """The largest smaller bead with which the row does not crowd, its inset and pitch alike; None where
    the text gives these, or no bead does."""
    call = piece.call(row.feature)
    said = {key for use in call.within for key, one in use.arguments.items() if one.given}
    if not call.within or said & {"inset", "pitch", "stretch"}:
        return None
    for share in SMALLER.tolist():
        size = round(share * row.bead, 2)
        lines = [line.inset(call.get("inset", 0.0) * share) for line in call.get("along").lines]
        spots = [None if line is None else line.spaced(call.get("fit", 0.0) * share, MOST) for line in lines]
        near = [0.0 if one is None else _nearest(one[:, :, 3], size).min() / size for one in spots]
        if not below(min(near), bound):
            return f"{size:.2f} mm"
    return None


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
        ) & (np.abs(row.ways @ frame[:, 2]) > STANDS)
        near &= np.hypot(local[:, 0], local[:, 1]) < reach(body.outline) + row.bead
        if not near.any():
            continue
        inside = np.full(len(local), -np.inf)
        inside[near] = inside_by(body.outline, local[near, :2])
        over = np.where(inside > -row.bead, np.maximum(row.bead / 2 - inside, 0.0), np.inf)
        least = np.minimum(least, over)
    return least
