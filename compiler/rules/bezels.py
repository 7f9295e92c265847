"""Walls round stones: too thin, too thick, covering too little of the stone or too much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ..judging.bezels import BEZEL_LIP, BEZEL_WALL, FLUSH_LIP
from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check, of_gems

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece

CHORDS = 0.003  # mm, a wall measured between chords comes out so much thinner than it is
# What the edge loses in height as it is laid over and filed, mm: house choice, no source.
SPARE = 0.2


def _of_crown(share: Bound, reading: Reading, spare: float = 0.0) -> Bound:
    """A share of the crown, above the girdle's middle, mm."""
    stone = reading.of
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    return share * cut.crown_height(*sizes) + (cut.girdle_thickness(*sizes) / 2 + spare)


def _allowed(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall may rise, mm; without facets it may go up as it likes."""
    return None if CUTS[reading.of.form].facet_count == 0 else _of_crown(share, reading, SPARE)


def _faceted(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall has to rise over a crown, mm."""
    return None if CUTS[reading.of.form].domed else _of_crown(share, reading)


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


thin_bezel = figure_check(
    "thin-bezel", LEAST,
    Test(
        BEZEL_WALL, (Tier("cast", "this bezel wall is thin"),),
        "make the wall thicker", mend="wall", play=CHORDS,
    ),
)  # fmt: skip

thick_bezel = figure_check(
    "thick-bezel", MOST,
    Test(
        BEZEL_WALL, (Tier("cast", "this bezel wall is thick", bound=of_gems),),
        "make the wall thinner", mend="wall",
    ),
)  # fmt: skip

low_bezel = figure_check(
    "low-bezel", LEAST,
    Test(
        BEZEL_LIP,
        (
            Tier("crown", "this bezel hardly covers its stone", bound=_faceted),
            Tier("cabochon", "this bezel hardly covers its stone", bound=_cabochon),
        ),
        "make the wall higher", mend="lip",
    ),
    Test(
        FLUSH_LIP, (Tier("sunk", "there is little metal to push over this stone", bound=_flush),),
        "sink the stone {more} deeper, or make the face flatter",
    ),
)  # fmt: skip

high_bezel = figure_check(
    "high-bezel", MOST,
    Test(
        BEZEL_LIP, (Tier("crown", "this bezel covers much of its stone", bound=_allowed),),
        "make the wall lower", mend="lip",
    ),
)  # fmt: skip
