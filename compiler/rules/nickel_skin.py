"""Alloys that hold nickel, against the skin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

SKIN, POST = 0.5, 0.2  # micrograms of nickel per square centimetre and week


def check(piece: Piece) -> Iterator[Verdict]:
    told: set[str] = set()
    for feature in piece.features:
        alloy = piece.alloy(feature)
        if feature.body is None or not alloy.nickel or alloy.name in told:
            continue
        told.add(alloy.name)
        yield Verdict(
            f"{alloy.title} holds, or may hold, nickel",
            feature.index,
            "nickel alloy",
            f"at most {SKIN:g} µg/cm² a week on the skin, under {POST:g} in a piercing",
            "have it tested by EN 1811, tell the customer, or take a palladium alloy",
            1.0,
            0.0,
            key="metal",
            keys=("metal",),
            others=(feature.index,),
        )
