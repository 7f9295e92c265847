"""Chains whose end ring does not go through."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    clearance, clasp = (
        piece.bound("chain-too-big", "clearance"),
        piece.bound("chain-too-big", "clasp"),
    )
    for feature in piece.features:
        chain = piece.call(feature.index).get("chain")
        if not isinstance(chain, tuple) or feature.opening is None:
            continue
        across, wire, inside = max(chain), min(chain), feature.opening[0]
        through, hooked = across + clearance, wire * clasp
        if not below(inside, through):
            continue
        never = below(inside, hooked)
        bound = hooked if never else through
        yield Verdict(
            "the chain's end ring does not even hook into this loop"
            if never
            else "the chain's end ring does not pass this loop whole: open it and hook it in",
            feature.index,
            f"{mm(inside)} inside",
            f"{least(mm(bound))} for an end ring of {mm(across)} in {mm(wire)} wire",
            "make the loop larger, or take a smaller end ring",
            inside,
            bound,
            key="inside",
            keys=("inside", "chain"),
            place=place(feature.frames[0, :, 3]),
            level=Level.FAULT if never else Level.HINT,
            mend=Mend("inside", rounded_up(bound), "least"),
        )
