"""culet-through: a stone too near the finger or the skin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.remedies import deeper
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

LEVEL = 0.05  # mm, a flat back so far out of the metal still lies level with it


def check(piece: Piece) -> Iterator[Verdict]:
    ring = piece.wear_measures.hole is not None
    bodies = {} if ring else {bed.stone: bed.body for bed in piece.beds}
    hollow = piece.roofs
    bodies = {stone: body for stone, body in bodies.items() if body not in hollow}
    for stone, (depth, at) in enumerate(piece.stone_measures.culets):
        if piece.stones.of(stone).cut == "pearl":  # round and smooth, it may lie on the skin
            continue
        if depth > -LEVEL and not piece.stones.of(stone).pavilion():  # flat behind, it may lie level
            continue
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("culet-through", "clearance", feature)
        if below(depth, bound):
            behind = not ring and piece.stones.frames[stone, 2, 2] < -0.5
            yield Verdict(
                "a stone stands at the back, looking away from you" if behind
                else f"a stone comes near the {'finger' if ring else 'back'}",
                feature,
                f"stone {stone + 1} ends {mm(depth)} short of it"
                if depth >= 0
                else f"stone {stone + 1} stands {mm(-depth)} out of it",
                least(mm(bound)),
                "stand it at the face; 'middle' of a path round the finger is at the palm, its head is 'top'"
                if behind
                else f"raise the stones or make the body thicker by {rounded_up(bound - depth)}, or take "
                "shallower stones",
                depth,
                bound,
                place=place(at),
                mend=deeper(piece, bodies[stone], bound - depth) if stone in bodies else None,
                level=Level.FAULT if depth < 0 else None,
            )
