"""Prongs: too thin, too thick, too short, too tall, or too far over their stone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check
from ..judging.grips import PRONG_BITE, PRONG_RISE, PRONG_SPARE, PRONG_WIRE, of_usual, usual_shown
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _of_stone(_: Piece, limit: Bound, reading: Reading) -> Bound:
    return limit * reading.of.width


def _allowed(piece: Piece, spare: Bound, reading: Reading) -> Bound:
    return max(spare, piece.bound("short-prong", "past-stone") * (1.5 * reading.of.width))


thin_prong = figure_check(
    "thin-prong", LEAST,
    Test(
        PRONG_WIRE,
        (
            Tier("least", "this prong is too thin"),
            Tier("usual", "this prong is thin for its stone", bound=of_usual, more=usual_shown),
        ),
        "take wire of {value}", mend="wire",
    ),
)  # fmt: skip

thick_prong = figure_check(
    "thick-prong", MOST,
    Test(
        PRONG_WIRE, (Tier("most", "this prong is thick for its stone", bound=of_usual, more=usual_shown),),
        "take thinner wire: it is hard to bend and hides the stone", mend="wire",
    ),
)  # fmt: skip

short_prong = figure_check(
    "short-prong", LEAST,
    Test(
        PRONG_RISE,
        (
            Tier("spare", "this prong is too short to push over", Level.WARNING),
            Tier("past-stone", "this prong is short for so wide a stone", Level.HINT, _of_stone),
        ),
        "make it {more} longer", mend="rise",
    ),
)  # fmt: skip

tall_prong = figure_check(
    "tall-prong", MOST,
    Test(
        PRONG_SPARE, (Tier("spare", "this prong rises high above its stone", bound=_allowed),),
        "make it shorter: the rest is filed off", mend="rise",
    ),
)  # fmt: skip

prong_bite = figure_check(
    "prong-bite", MOST,
    Test(
        PRONG_BITE,
        (
            Tier("most", "the seat takes too much out of this prong", Level.WARNING),
            Tier("advised", "the seat takes too much out of this prong", Level.HINT),
        ),
        "move the prong outward, or take thicker wire", mend="bite",
    ),
)  # fmt: skip
