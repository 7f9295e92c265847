"""slack-loop: one of two loops carries nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, place, share
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for _, rest in piece.casting_measures.rests:
        if len(rest.loops) < 2:
            continue
        loads = [rest.hang.shares[0], rest.hang.shares[1]]
        loop = rest.loops[loads.index(min(loads))]
        bound = piece.bound("slack-loop", "least", loop.feature)
        if below(min(loads), bound):
            yield Verdict(
                "one loop hangs slack: the weight does not lie between the two",
                loop.feature,
                f"it carries {share(min(loads))} of the weight",
                least(share(bound)),
                "move the loops apart until the middle of the weight lies between them",
                min(loads),
                bound,
                place=place(loop.middle),
            )
