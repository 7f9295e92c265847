"""thin-beside: the wall of a seat, measured outward from the girdle."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        spot, seat = around.beside, piece.seated.get(stone)
        if spot is None or seat is None:
            continue
        if around.broken > 0 or stone in piece.shared or stone in piece.barred:
            continue  # it runs out altogether: see broken-seat; or is cut away between prongs or bars
        bound = piece.bound("thin-beside", "least", seat)
        if below(spot.figure + piece.tolerance, bound):  # measured between chords
            body = piece.name_of(spot.owner) if spot.owner >= 0 else "the metal"
            yield Verdict(
                f"thin metal beside a stone, toward the outside of {body}",
                seat,
                f"{mm(spot.figure)} beside stone {stone + 1}",
                least(mm(bound)),
                "move the stones inward, take smaller ones, or widen the body",
                spot.figure,
                bound,
                place=place(spot.at),
            )


RULE = Rule(
    "thin-beside",
    "The metal beside a stone is thin.",
    "metal",
    Level.WARNING,
    "A thin wall beside a seat gives way when the stone is pressed in and the metal set over.",
    "Move stones inward, or widen the body.",
    "common practice, no source",
    _check,
    follows=("stone-near-edge",),
)
