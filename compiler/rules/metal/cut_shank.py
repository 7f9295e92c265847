"""cut-shank: a shank that a cut has opened, so that no metal goes all round the finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.digits import below, least, place, share
from ...judging.rule import Verdict
from ...judging.shank_cuts import deepest_cut

if TYPE_CHECKING:
    from ...judging.piece import Piece

NONE = 0.02  # of a section, a skin no thicker than that holds nothing


def check(piece: Piece) -> Iterator[Verdict]:
    bore = piece.wear_measures.bore
    if bore is None or not piece.is_for(bore.index, Role.SHANK) or piece.call(bore.index).get("open"):
        return
    cuts = [
        feature.index for feature, call in piece.with_role(Role.CUT, Role.SEAT, Role.LIGHT_HOLE)
        if not call.trail and _may_cut(call.get("in"), bore)  # a word knows where it cuts
    ]  # fmt: skip
    band = piece.name_of(bore.index)
    if cuts and not piece.wear_measures.goes_round:
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
    elif cuts and (worst := deepest_cut(piece, bore, cuts)) is not None:
        bound = piece.bound("cut-shank", "least", bore.index)
        if below(worst.left, bound):
            yield Verdict(
                f"{piece.name_of(worst.cut)} cuts {band} {'nearly ' if worst.left > NONE else ''}through",
                worst.cut,
                f"{share(worst.left)} of its section is left",
                least(share(bound)),
                _narrower(piece, worst.cut),
                worst.left,
                bound,
                keys=("hole", "across", "in"),
                place=place(worst.at),
                others=(bore.index,),
            )


def _narrower(piece: Piece, cut: int) -> str:
    seat = piece.is_for(cut, Role.SEAT)
    smaller = "say 'hole 0 %', or a narrow hole" if seat else "make the cut narrower or shallower"
    return f"{smaller}, or the band wider there, so that it holds without what stands on it"


def _may_cut(body: object, band: Feature) -> bool:
    """Whether a cut in a body, or in all there is, may take metal from a band."""
    return body is None or (isinstance(body, Feature) and body.body == band.body)
