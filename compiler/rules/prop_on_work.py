"""Props on work that could not be filed clean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for plan in piece.prints:
        for one in plan.on_work:
            bound = piece.bound("prop-on-work", "most", one.feature)
            if bound < 1.0:
                yield Verdict(
                    "a prop has to stand on seats, beads or letters",
                    one.feature,
                    "a tip",
                    "none",
                    "turn the piece on the plate so that this looks up, or dress it again at the bench",
                    1.0,
                    bound,
                    place=place(one.at),
                )


RULE = Rule(
    "prop-on-work",
    "A prop stands on fine work.",
    "cast",
    Level.HINT,
    "Where a tip breaks off, a stub is filed away; on a seat, a bead or a letter the work is "
    "filed away with it.",
    "Turn the piece, or cut that work again after printing.",
    "common practice, no source",
    _check,
)
