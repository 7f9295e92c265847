"""footless-prong: a prong rooted in too little metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, place, rounded_down, rounded_up, times
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

NEARLY = 0.85  # of the joint that is wanted, from which a prong may be as much thinner


def check(piece: Piece) -> Iterator[Verdict]:
    for root in piece.stone_measures.roots:
        bound = piece.bound("footless-prong", "least", root.owner)
        if root.figure > 0.01 and below(root.figure, bound):
            yield Verdict(
                f"{piece.name_of(root.owner)} stands on little metal",
                root.owner,
                f"joined over {times(root.figure)} its own section",
                least(times(bound)),
                _remedy(piece, root.owner, root.figure / bound),
                root.figure,
                bound,
                keys=("foot", "inward", "wire"),
                place=place(root.at),
            )


def _remedy(piece: Piece, prong: int, share: float) -> str:
    """A prong on rails, joined over ``share`` of what it should be, of thinner wire where little lacks, else
    on thicker rails; any other is rooted deeper."""
    call = piece.call(prong)
    line = piece.source_lines.of(call, None, ()).line
    uses = (use.arguments for use in reversed(call.within))
    rail = next((said["rail"].value for said in uses if "rail" in said), None)
    if line is None or not isinstance(rail, float | int) or not piece.source_lines.can_say(line, "rail"):
        return "root it deeper, move it over the metal, or carry it by a second rail, as a basket does"
    if share > NEARLY:
        wire = float(piece.rods.wire[piece.rods.feature == prong].max())
        return f"write wire {rounded_down(0.99 * share * wire)}: thinner prongs, on the same rails"
    return f"write rail {rounded_up(1.05 * rail / share)}: it is joined to thicker rails by more"
