"""closing-gap: slits that fill up in printing or casting."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place
from ...judging.rule import Level, Rule, Verdict
from ...judging.tolerances import SMALL_GAP

if TYPE_CHECKING:
    from ...judging.piece import Piece

CREVICE = 0.03  # mm; a slit that runs out to less ends in a joint, which fills and is no harm


def _check(piece: Piece) -> Iterator[Verdict]:
    apart = piece.casting_measures.loose
    for gap in piece.skin_measures.gaps.places:
        first, second = gap.pair
        if (
            first < 0
            or gap.area < SMALL_GAP
            or gap.figure < CREVICE
            or {first, second} <= piece.sets.small
            or all(piece.is_for(one, Role.ENGRAVING) for one in gap.pair)
            or len(apart & {first, second}) == 1
        ):
            continue  # see no-tool-room, letters-too-fine, and of what is not joined loose-piece
        bound = piece.bound("closing-gap", "least", second)
        if below(gap.figure + piece.tolerance, bound):  # measured between chords
            names = f"{piece.name_of(first)} and {piece.name_of(second)}"
            where = f"between {names}" if first != second else f"in {piece.name_of(second)}"
            yield Verdict(
                f"a slit {where} will close",
                second,
                mm(gap.figure),
                least(mm(bound)),
                "widen the gap, or let the two overlap",
                gap.figure,
                bound,
                place=place(gap.at),
                others=gap.pair,
            )


RULE = Rule(
    "closing-gap",
    "A slit will close in print or casting.",
    "metal",
    Level.WARNING,
    "Resin bridges a narrow slit and investment breaks off in it: it comes out as a fin or as "
    "one lump, and no wheel reaches in to clean it.",
    "Widen the gap, or let the parts overlap.",
    "house choice, no source",
    _check,
)
