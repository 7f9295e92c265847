"""stone-in-metal: metal where a stone is to be, other than the bite of what holds it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.forms import Spot
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        if piece.stones.of(stone).cut == "pearl":
            continue  # a pearl is drilled for its peg
        for spot in around.inside:
            bound = _allowed(piece, stone, spot)
            if spot.owner >= 0 and above(spot.figure, bound):
                yield _finding(piece, stone, spot, bound)


def _allowed(piece: Piece, stone: int, spot: Spot) -> float:
    """How deep this feature may reach into this stone, mm."""
    if spot.owner not in piece.sets.holders and spot.owner not in piece.sets.beads:
        return piece.bound("stone-in-metal", "most", spot.owner)
    share = piece.bound("stone-in-metal", "holder", spot.owner) * piece.stones.of(stone).width
    wire = float(piece.call(spot.owner).get("across") or 0.0)
    return max(share, piece.bound("prong-bite", "most", spot.owner) * wire)


def _finding(piece: Piece, stone: int, spot: Spot, bound: float) -> Finding:
    name = piece.name_of(int(piece.stones.feature[stone]))
    seat = piece.seated.get(stone)
    return Finding(
        f"{piece.name_of(spot.owner)} reaches into a stone of {name}",
        spot.owner,
        f"{mm(spot.figure)} inside the girdle of stone {stone + 1}",
        most(mm(bound)),
        "cut a seat: for the stones, below the lines of metal"
        if seat is None
        else "move it off the stone, or put its line above the seat that is to cut it",
        spot.figure,
        bound,
        place=place(spot.at),
        others=(int(piece.stones.feature[stone]),),
    )


RULE = Rule(
    "stone-in-metal",
    "Metal stands where a stone is to be.",
    "metal",
    Level.FAULT,
    "A stone does not go in where there is metal; only what holds it may lie over its edge.",
    "Cut a seat for it, or move the metal.",
    "elementary geometry; channel walls HG heartofgoldjewelers.com/pages/repair2.html",
    _check,
)
