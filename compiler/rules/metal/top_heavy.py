"""top-heavy: a piece that turns over, or nearly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place, share
from ...judging.righted import righted
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for casting, rest in piece.casting_measures.rests:
        loop = rest.loops[0]
        bound = piece.bound("top-heavy", "ring-above", loop.feature)
        if rest.hang.flips or below(rest.share, bound):
            yield Verdict(
                "it turns over when it hangs" if rest.hang.flips
                else "its loops stand low: it turns over easily",
                loop.feature,
                f"the chain bears {mm(rest.above)} above the centre of mass, "
                f"{share(rest.share)} of the height",
                least(share(bound)),
                righted(piece, casting) or "raise the loops",
                rest.share,
                bound,
                keys=("up", "at"),
                place=place(casting.centre[1]),
                level=Level.WARNING if rest.hang.flips else Level.HINT,
            )  # fmt: skip


RULE = Rule(
    "top-heavy",
    "The piece turns over when it hangs.",
    "metal",
    Level.WARNING,
    "Weight above the loops swings below them: the piece turns its back out, or its foot up.",
    "Raise the loops above the centre of mass by a third of the height.",
    "elementary statics; the figure is common practice, no source",
    _check,
)
