"""feather-edge: metal that runs out to nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import below, mm, place
from ...judging.remedies import off_its_room
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece


SHORT = 2.5  # mm; a sharp edge no longer is a point, as that of a star: metal stands behind it on both sides
BLUNT = 0.5  # mm, how wide an end fills


def _check(piece: Piece) -> Iterator[Verdict]:
    told = {tuple(np.round(edge.at, 6)) for edge in piece.skin_measures.edges}
    for edge in piece.skin_measures.feathers:
        owner = next((one for one in edge.owners if one >= 0), 0)
        short = edge.length <= SHORT
        bound = piece.bound("feather-edge", "point" if short else "least", owner)
        if below(edge.angle, bound) and tuple(np.round(edge.at, 6)) not in told:
            yield Verdict(
                f"{piece.name_of(owner)} runs out to a {'sharp point' if short else 'feather edge'}",
                owner,
                f"{edge.angle:.0f} degrees of metal over {mm(edge.length)}",
                f"{bound:g} degrees or more",
                off_its_room(piece, edge.owners)
                or _plainer(piece.call(owner))
                or f"cut or round it off {mm(_off(edge.angle))} back, where it is {mm(BLUNT)} thick, or let "
                "it run into other metal",
                edge.angle,
                bound,
                place=place(edge.at),
                others=tuple(one for one in edge.owners if one >= 0 and one != owner)[:1],
            )


def _plainer(call: Call) -> str:
    """What blunts the corners between the strokes of letters sawn out of metal."""
    plain = call.get("style") == "block" or call.get("raised") or call.given("joined")
    if plain or not call.given("letters"):
        return ""
    return "say 'style block', whose letters have no such corners, or round it off by hand"


def _off(angle: float) -> float:
    """How far back from its edge a wedge of so many degrees is thick enough to fill, mm."""
    return BLUNT / 2 / math.tan(math.radians(angle) / 2)


RULE = Rule(
    "feather-edge",
    "Metal runs out to a feather edge.",
    "metal",
    Level.WARNING,
    "A thin wedge freezes before it is filled and comes out ragged; what is left of it is a blade.",
    "End it in a step or a bevel.",
    "house choice, no source",
    _check,
)
