"""Alloys that hold nickel, against the skin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

SKIN, POST = 0.5, 0.2  # micrograms of nickel per square centimetre and week


def _check(piece: Piece) -> Iterator[Verdict]:
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


RULE = Rule(
    "nickel-skin",
    "Nickel in the metal.",
    "plan",
    Level.HINT,
    "Nickel makes some wearers ill for life. In the EU it may release at most 0.5 micrograms "
    "per square centimetre and week against the skin, under 0.2 in a post through a piercing, "
    "and plated goods must keep to it for two years of wear.",
    "Have it tested (EN 1811), tell the customer, follow local codes; or choose another alloy.",
    "REACH Annex XVII entry 27: NJ ninja.fi/en/pages/eu-reach-asetus; LZ "
    "lamez.teg.co.uk/nickel",
    _check,
)
