"""Alloys that hold nickel, against the skin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.figure_rule import Reading

if TYPE_CHECKING:
    from ..judging.piece import Piece

def check(piece: Piece) -> Iterator[Reading]:
    told: set[str] = set()
    for feature in piece.features:
        alloy = piece.alloy(feature)
        if feature.body is None or not alloy.nickel or alloy.name in told:
            continue
        told.add(alloy.name)
        yield Reading(feature.index, 1.0, words={"alloy": alloy.title}, others=(feature.index,))
