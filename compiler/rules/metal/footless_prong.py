"""footless-prong: a prong rooted in too little metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, place, times
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for root in piece.stone_measures.roots:
        bound = piece.bound("footless-prong", "least", root.owner)
        if root.figure > 0.01 and below(root.figure, bound):
            yield Verdict(
                f"{piece.name_of(root.owner)} stands on little metal",
                root.owner,
                f"joined over {times(root.figure)} its own section",
                least(times(bound)),
                "root it deeper, move it over the metal, or carry it by a second rail, as a basket does",
                root.figure,
                bound,
                keys=("foot", "inward", "wire"),
                place=place(root.at),
            )


RULE = Rule(
    "footless-prong",
    "A prong stands on too little metal.",
    "metal",
    Level.WARNING,
    "A prong is bent over the stone by hand: its root must be stronger than the wire itself.",
    "Root prongs deeper, or move them over the metal.",
    "house choice, no source",
    _check,
)
