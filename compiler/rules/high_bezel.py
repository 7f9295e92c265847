"""Bezels that cover too much of the stone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...stdlib.cuts import CUTS
from ..judging.bezels import BEZEL_LIP
from ..judging.figure_rule import MOST, Test, Tier, figure_check

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece

# What the edge loses in height as it is laid over and filed, mm: house choice, no source.
SPARE = 0.2


def _allowed(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall may rise, mm."""
    stone = reading.of
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    half = cut.girdle_thickness(*sizes) / 2
    if cut.facet_count == 0:
        return None  # no crown of facets: the wall may go up as it likes
    return share * cut.crown_height(*sizes) + (half + SPARE)


check = figure_check(
    "high-bezel", MOST,
    Test(
        BEZEL_LIP,
        (
            Tier("crown", "this bezel covers much of its stone", bound=_allowed),
        ),
        "make the wall lower",
        mend="lip",
    ),
)  # fmt: skip
