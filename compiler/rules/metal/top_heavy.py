"""top-heavy: a piece that turns over, or nearly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import below, least, mm, place, rounded_up, share
from ...judging.moves import told_alike
from ...judging.righted import righted
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.hanging import Rest
    from ...judging.piece import Piece

TAUT = 3.0  # times its height, how far the loops of a bar stand apart that its chains keep level


def _check(piece: Piece) -> Iterator[Verdict]:
    for casting, rest in piece.casting_measures.rests:
        loop = rest.loops[0]
        bound = piece.bound("top-heavy", "ring-above", loop.feature)
        if rest.hang.flips or (below(rest.share, bound) and not _taut(rest)):
            yield Verdict(
                "it turns over when it hangs" if rest.hang.flips
                else "its loops stand low: it turns over easily",
                loop.feature,
                f"the chain bears {mm(rest.above)} above the centre of mass, "
                f"{share(rest.share)} of the height",
                least(share(bound)),
                righted(piece, casting) or _raised(piece, rest, float(bound)),
                rest.share,
                bound,
                keys=("up", "at"),
                place=place(casting.centre[1]),
                level=Level.WARNING if rest.hang.flips else Level.HINT,
            )  # fmt: skip


def _taut(rest: Rest) -> bool:
    """Whether it is a bar between two chains, far longer than high, which keep its face out."""
    apart = abs(rest.loops[-1].middle[0] - rest.loops[0].middle[0])
    return rest.share > 0 and apart > TAUT * rest.above / rest.share


def _raised(piece: Piece, rest: Rest, least: float) -> str:
    """How far the loops are raised to hang it well, the piece growing as high as they go."""
    lack = (least * rest.above / rest.share - rest.above) / (1.0 - least) if rest.share else 0.0
    way = told_alike(piece, (loop.feature for loop in rest.loops), np.array([0.0, lack, 0.0]))
    there = f" ('{way}' where its line stands)" if way and not way.endswith("up") else ""
    loops = "loops" if len(rest.loops) > 1 else "loop"
    return f"raise the {loops} by {rounded_up(lack)}{there}, on metal that reaches there"


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
