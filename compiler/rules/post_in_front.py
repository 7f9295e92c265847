"""post-in-front: an ear post that stands on the side one sees."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..judging.digits import below, least, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    rods, castings = piece.rods, piece.casting_measures
    for k, line in enumerate(rods.feature.tolist()):
        if not piece.is_for(line, Role.EAR_POST) or rods.long[k] <= 2 * rods.wire[k]:
            continue
        casting = castings.casting_at(rods.foot[k])
        stones = piece.stones.frames
        mine = [f[:, 2] for f in stones if castings.casting_at(f[:, 3]) is casting]
        look = np.sum(mine, axis=0) if mine else np.array([0.0, 0.0, 1.0])
        cosine = float(rods.way[k] @ look) / max(float(np.linalg.norm(look)), 1e-9)
        off = float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))
        bound = piece.bound("post-in-front", "least", line)
        if below(off, bound):
            yield Verdict(
                "this ear post stands on the front",
                line,
                f"it points {off:.0f} degrees from the way the {'stones look' if mine else 'face looks'}",
                least(f"{bound:g} degrees"),
                "stand it at the back: 'at back of' the metal it is on",
                off,
                bound,
                keys=("at",),
                place=place(rods.foot[k]),
            )


RULE = Rule(
    "post-in-front",
    "An ear post stands on the front.",
    "metal",
    Level.WARNING,
    "A post goes back through the ear; on the face it sticks out toward the onlooker, and the stud "
    "lies against the ear with its front.",
    "Stand it at the back.",
    "elementary geometry; the angle is a house choice, no source",
    _check,
)
