"""sharp-on-skin: edges that scratch the wearer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, mm, place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    where = "the finger's side" if piece.wear_measures.bore is not None else "the back"
    for edge in piece.skin_measures.edges:
        owner = next((one for one in edge.owners if one >= 0), 0)
        bound = piece.bound("sharp-on-skin", "least", owner)
        if below(edge.angle, bound):
            yield Verdict(
                f"a sharp edge of {piece.name_of(owner)} on {where}",
                owner,
                f"{edge.angle:.0f} degrees of metal over {mm(edge.length)}",
                f"{bound:g} degrees or more",
                "bevel or round the edge, stand it on an upright rim, or turn it away from the skin",
                edge.angle,
                bound,
                place=place(edge.at),
            )


RULE = Rule(
    "sharp-on-skin",
    "A sharp edge lies on the skin.",
    "metal",
    Level.WARNING,
    "Square edges are eased in finishing; a sharper one is a blade on the skin, and rounds "
    "over to less than was drawn.",
    "Bevel or round it.",
    "house choice, no source",
    _check,
)
