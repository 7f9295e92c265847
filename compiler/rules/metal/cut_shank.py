"""cut-shank: a shank that a cut has opened, so that no metal goes all round the finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.digits import place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    bore = piece.wear_measures.bore
    if bore is None or not piece.is_for(bore.index, Role.SHANK) or piece.call(bore.index).get("open"):
        return
    cuts = [
        feature.index for feature, call in piece.with_role(Role.CUT)
        if not call.trail and _may_cut(call.get("in"), bore)  # a word knows where it cuts
    ]  # fmt: skip
    if cuts and not piece.wear_measures.goes_round:
        band = piece.name_of(bore.index)
        yield Verdict(
            f"{band} is cut through: it stands open",
            cuts[-1],
            "no metal goes all the way round",
            "metal all the way round",
            f"make the cut shallower or narrower than {band}; where it is to stand open, say 'open' in the "
            "line of the band",
            0.0,
            1.0,
            keys=("in",),
            place=place(piece.features[cuts[-1]].frames[0, :, 3]),
            others=(bore.index,),
        )


def _may_cut(body: object, band: Feature) -> bool:
    """Whether a cut in a body, or in all there is, may take metal from a band."""
    return body is None or (isinstance(body, Feature) and body.body == band.body)


RULE = Rule(
    "cut-shank",
    "A cut opens a shank.",
    "metal",
    Level.WARNING,
    "A closed ring holds its size; one that is cut through opens on the finger and springs out of "
    "round in casting and setting.",
    "Cut less deep, or say that the band stands open.",
    "elementary geometry; linking number: Gauss 1833",
    _check,
)
