"""footless-prong: a prong rooted in too little metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, place, rounded_up, times
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
                _remedy(piece, root.owner, bound / root.figure),
                root.figure,
                bound,
                keys=("foot", "inward", "wire"),
                place=place(root.at),
            )


def _remedy(piece: Piece, prong: int, more: float) -> str:
    """Thicker rails, which a prong is joined to by so much more; else what it stands on."""
    call = piece.call(prong)
    line = piece.source_lines.of(call, None, ()).line
    rail = next((use.arguments["rail"].value for use in reversed(call.within) if "rail" in use.arguments), None)
    if line is None or not isinstance(rail, float | int) or not piece.source_lines.can_say(line, "rail"):
        return "root it deeper, move it over the metal, or carry it by a second rail, as a basket does"
    return f"write rail {rounded_up(1.05 * more * rail)}: it is joined to thicker rails by more"


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
