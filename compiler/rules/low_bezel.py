"""Bezels that cover too little of the stone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ..judging.bezels import BEZEL_LIP, FLUSH_LIP
from ..judging.figure_rule import LEAST, Test, Tier, figure_check

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _faceted(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall has to rise over a crown, mm."""
    stone = reading.of
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    half = cut.girdle_thickness(*sizes) / 2
    return None if cut.domed else share * cut.crown_height(*sizes) + half


def _cabochon(piece: Piece, share: Bound, reading: Reading) -> Bound | None:
    """As ``_faceted`` over a stone that rises from an upright wall."""
    stone = reading.of
    if not CUTS[stone.form].domed:
        return None
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    # The height counts from its back, where the stone has its origin.
    above = piece.bound("low-bezel", "above-wall", reading.feature) + cut.girdle_thickness(*sizes)
    return max(above, share * cut.total_depth(*sizes))


def _flush(_: Piece, least: Bound, reading: Reading) -> Bound:
    """What can be pushed over a sunk stone; over a small one half its crown."""
    return least * min(1.0, reading.of.crown() / 2 / least)


check = figure_check(
    "low-bezel", LEAST,
    Test(
        BEZEL_LIP,
        (
            Tier("crown", "this bezel hardly covers its stone", bound=_faceted),
            Tier("cabochon", "this bezel hardly covers its stone", bound=_cabochon),
        ),
        "make the wall higher",
        mend="lip",
    ),
    Test(
        FLUSH_LIP,
        (
            Tier("sunk", "there is little metal to push over this stone", bound=_flush),
        ),
        "sink the stone {more} deeper, or make the face flatter",
    ),
)  # fmt: skip
