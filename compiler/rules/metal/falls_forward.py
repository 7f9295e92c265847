"""falls-forward: a brooch whose lying pin is below the middle of its weight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Lines
from ...bench.roles import Role
from ...judging.digits import above, mm, most, place
from ...judging.moves import move
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


def check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.PIN):
        path = feature.look("path") if call.given("bought") and "path" in feature.offers else None
        if not isinstance(path, Lines):
            continue
        ends = path.lines[0].points[[0, -1]]
        centre = _centre(piece, feature.name)
        along = ends[1] - ends[0]
        if centre is None or abs(along[0]) < abs(along[1]):  # one that stands upright holds its whole height
            continue
        share = float(np.clip((centre[0] - ends[0, 0]) / along[0], 0.0, 1.0))
        below = float(centre[1] - (ends[0] + share * along)[1])
        bound = piece.bound("falls-forward", "most", feature)
        if above(below, bound):
            moved = move(piece, feature.index, np.array([0.0, below, 0.0]))
            yield Verdict(
                "worn, this brooch falls forward: its pin lies below the middle of its weight",
                feature.index,
                f"{mm(below)} below it",
                most(mm(bound)),
                f"move {piece.name_of(feature.index)} {moved.in_piece if moved is not None else 'higher'}",
                below,
                bound,
                keys=("up", "down", "at"),
                place=place(centre),
            )


def _centre(piece: Piece, pin: str) -> Floats | None:
    """The middle of the weight (3,) that a pin carries: of its casting, and where there is but one of all."""
    cast = piece.casting_measures.cast
    mine = next((one for one in cast if one.name and pin.startswith(f"{one.name}.")), None)
    if len(cast) == 1:
        return piece.wear_measures.centre[1]
    return None if mine is None else mine.centre[1]
