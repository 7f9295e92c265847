"""resting-culet: a stone whose point stands on metal, or a hair above it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

TOUCH = 0.02  # mm, what is nearer touches
POINTED = 0.3  # mm of pavilion, a stone with less is flat below


def check(piece: Piece) -> Iterator[Verdict]:
    measures, stones = piece.stone_measures, piece.stones
    deep = float(piece.bound("stone-in-metal", "axis"))  # what stands deeper is told there
    chosen = [k for k in range(len(stones.kind))
              if stones.of(k).cut != "pearl" and measures.form(k).tip < -POINTED]  # fmt: skip
    if not chosen:
        return
    skin, mine = piece.skin_measures.skin, [measures.stones[k] for k in chosen]
    way = np.array([-stone.turn[2] for stone in mine])
    tips = np.array([stone.world(np.array([[0.0, 0.0, measures.form(k).tip + deep]]))[0]
                     for k, stone in zip(chosen, mine, strict=True)])  # fmt: skip
    most = max(float(piece.bound("resting-culet", "least", int(stones.feature[k]))) for k in chosen)
    far, met = skin.grid.cast(tips, way, leaving=False, reach=most + deep)
    for k, tip, along, clear, face in zip(chosen, tips, way, far - deep, met, strict=True):
        feature, owner = int(stones.feature[k]), int(skin.owner[face])
        bound = piece.bound("resting-culet", "least", feature)
        seated = owner in piece.sets.seats or along @ skin.normals[face] > 0
        if face >= 0 and not seated and below(float(clear) + piece.tolerance, bound):
            how = "hardly clears" if clear > TOUCH else "stands on"
            yield Verdict(
                f"the point of a stone of {piece.name_of(feature)} {how} {piece.name_of(owner)}",
                feature,
                f"{mm(max(float(clear), 0.0))} of air below the point of stone {k + 1}",
                least(mm(bound)),
                f"raise the stones by {rounded_up(bound - float(clear))} or more",
                float(clear),
                bound,
                place=place(tip + (deep + max(float(clear), 0.0)) * along),
                others=(owner,),
            )
