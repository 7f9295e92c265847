"""slender: long thin runs of metal, wire or not, measured on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import FigureOf
from ...judging.digits import above, mm, most, place, times
from ...judging.figures import figure, narrowest
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.slender import Slender

HALF_ROUND = 0.66  # straight from end to end, as a share of the length: 2 / pi for half a circle
_TURN = np.linspace(1e-3, 2 * np.pi, 200)  # of an arc, radians
_APART = np.sin(_TURN / 2) / (_TURN / 2)  # its ends, as a share of its length


def check(piece: Piece) -> Iterator[Verdict]:
    for part in piece.skin_measures.slender:
        if part.owner < 0:
            continue
        bound = piece.bound("slender", "most", part.owner)
        free, shown = _free(part)
        thick = max(part.thickness, _across_tube(piece, part.owner))
        ratio = free / thick
        if above(ratio, bound):
            yield Verdict(
                f"{piece.name_of(part.owner)} is long and thin",
                part.owner,
                f"{shown}, {mm(thick)} thick: {times(ratio)}",
                most(times(bound)),
                "make it thicker or shorter, or tie it to its neighbour half way",
                ratio,
                bound,
                keys=("wire", "across", "round", "square", "half-round", "flat", "size", "thick"),
                place=place(part.at),
                level=Level.WARNING if above(ratio, 2 * bound) else Level.HINT,
            )


def _across_tube(piece: Piece, owner: int) -> float:
    """What wire bent of tube measures outside, which is what bends, not its wall; 0 for other metal."""
    call = piece.call(owner)
    section = figure(call, FigureOf.SECTION) if figure(call, FigureOf.WALL) else None
    return narrowest(section[1]) if section else 0.0


def _free(part: Slender) -> tuple[float, str]:
    """The length that counts, and how it is told. What comes round by half a turn or more stiffens
    itself as a ring does: there it is the radius of an arc as long, with its ends as far apart."""
    start, end = (np.array(spot) for spot in part.ends)
    apart = float(np.linalg.norm(end - start)) / part.length
    if apart > HALF_ROUND:
        return part.length, f"{mm(part.length)} long"
    radius = part.length / float(np.interp(apart, _APART[::-1], _TURN[::-1]))
    return radius, f"{mm(part.length)} long, bent round to a radius of {mm(radius)}"
