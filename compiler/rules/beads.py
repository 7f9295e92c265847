"""Beads: too fine, too coarse, run together or standing apart, off the edge of their metal."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial, reduce
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace
from ..judging.beads import Row, rows_of
from ..judging.digits import below, mm, rounded_up
from ..judging.edges import Neighbours, depths_on
from ..judging.figure_rule import Reading, Words
from ..judging.pairs import near_pairs
from ..judging.remedies import round_the_waist
from ..judging.rule import Mend

if TYPE_CHECKING:
    from ..judging.piece import Piece

SMALLER = np.arange(0.95, 0.4, -0.05)
MOST = 20_000  # beads of a row
FINE = 0.02  # mm, chord error of the walls looked along
STANDS = 0.5  # cosine to a face, more aslant a bead stands on the edge of something else


def bead_off_edge(piece: Piece) -> Iterator[Reading]:
    """Beads that hang over the edge they follow."""
    flat = Neighbours(f for f in piece.features if f.body is not None)
    for row in rows_of(piece):
        near = flat.near(row.centres, 2 * row.bead)
        if not near:
            continue
        # A bead is over the edge when none of the bodies it is near carries all of it.
        size, spots = row.bead, row.centres
        depths = [
            np.where(_stand_on(row, body), depths_on(body, spots, size, size, body.high, body.low), np.nan)
            for body in near
        ]
        over = np.maximum(size / 2 - reduce(np.fmax, depths), 0.0)
        worst = int(np.nan_to_num(over).argmax())
        if np.isfinite(over[worst]):
            said = piece.call(row.feature).figure("inset")
            # As far in as it lacks: half a bead, or more where the text goes that far in already.
            inset = rounded_up(max(row.bead / 2, float(said or 0.0) + float(over[worst])))
            far, spot = float(over[worst]), row.centres[worst]
            cure = round_the_waist(piece, row.feature) or None
            yield Reading(row.feature, far, spot, value=lambda _, inset=inset: inset, cure=cure)


def _stand_on(row: Row, body: Feature) -> np.ndarray:
    """Which beads of a row (n,) stand up from the face or back of a flat body, not from its edge."""
    ups: np.ndarray = np.abs(row.ways @ body.frames[:50, :, 2].T)
    return ups.max(axis=1) > STANDS


def merged_beads_on_metal(piece: Piece) -> Iterator[Reading]:
    """Beads of one row that stand in one another where its path turns back beside itself, as at a horn."""
    for row in rows_of(piece):
        near = _nearest(row.centres, row.bead)
        worst = int(near.argmin())
        if not below(row.usual_pitch / row.bead, piece.bound("merged-beads", "crowd")):
            wide = row.bead
            said: Words = {"near": mm(float(near[worst])), "apart": lambda bound, wide=wide: mm(bound * wide)}
            yield Reading(
                row.feature, float(near[worst]) / row.bead, row.centres[worst], find="crowd", words=said,
                cure=partial(_uncrowded, piece, row),
            )  # fmt: skip


    yield from _in_grains(piece)
    yield from _in_walls(piece)


def _in_walls(piece: Piece) -> Iterator[Reading]:
    """Beads laid singly whose middle lies in the wall of a cup, or inside that."""
    cups = [(one, trace(one.outline, FINE)) for one, _ in piece.with_role(Role.RIM)
            if one.outline is not None and one.body is not None]  # fmt: skip
    for beads, call in piece.with_role(Role.BEAD) if cups else ():
        across, centres = call.get("across"), beads.frames[:, :, 3]
        for cup, loop in cups if across and not call.given("along") else ():
            for frame in cup.frames:
                local = fr.apply(fr.inverse(frame), centres)
                inside = inside_loops([loop], local[:, :2])
                inside[(local[:, 2] < cup.low) | (local[:, 2] > cup.high)] = -np.inf
                k = int(inside.argmax())
                if np.isfinite(inside[k]):
                    yield Reading(
                        beads.index, float(inside[k]), centres[k], find="wall", others=(cup.index,),
                        words={"cup": piece.name_of(cup.index), "off": rounded_up(inside[k] + across / 2)},
                    )  # fmt: skip


def _in_grains(piece: Piece) -> Iterator[Reading]:
    """Beads of a row that stand in those which hold stones."""
    grains = piece.grains
    spots = np.array([one.spot for one in grains]).reshape(-1, 3)
    wires = np.array([one.wire for one in grains])
    for row in rows_of(piece) if grains else ():
        first, second = near_pairs(row.centres, spots, row.bead + float(wires.max()))
        go = row.centres[first] - spots[second]
        go -= (go * row.ways[first]).sum(axis=1)[:, None] * row.ways[first]
        apart = np.linalg.norm(go, axis=1) / ((row.bead + wires[second]) / 2)
        if len(apart):
            k = int(apart.argmin())
            grain = grains[int(second[k])]
            yield Reading(
                row.feature, float(apart[k]), row.centres[first[k]], find="grains", others=(grain.feature,),
                words={"which": str(grain.stone + 1), "near": mm(float(np.linalg.norm(go[k])))},
            )  # fmt: skip


def _uncrowded(piece: Piece, row: Row, bound: float) -> tuple[str, Mend | None]:
    """What keeps the beads of a row apart where its path turns back."""
    bead = _fitting(piece, row, bound)
    blunt = "blunt the horn or the corner, or leave it out by 'stretch'"
    return (f"write bead {bead}; or {blunt}", Mend("bead", bead, "most")) if bead else (blunt, None)


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
