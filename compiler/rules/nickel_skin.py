"""Alloys that hold nickel, against the skin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.figure_rule import Reading

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Reading]:
    for feature in piece.features:
        alloy, line = piece.alloy(feature), feature.index
        if feature.body is not None and alloy.nickel:
            yield Reading(line, 1.0, words={"alloy": alloy.title}, others=(line,), once=alloy.name)
