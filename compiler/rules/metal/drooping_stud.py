"""drooping-stud: a stud whose post stands below its weight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, mm, most, place
from ...judging.moves import told
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

CLIMBS = 2.0  # times as high as wide: it lies along the ear, its post at the lower end
LEVEL = 0.7  # cosine to the way back of a post that goes through an ear


def check(piece: Piece) -> Iterator[Verdict]:
    from ...measures.mass import volume_and_centre

    rods, castings = piece.rods, piece.casting_measures
    posts: dict[int, list[int]] = {}
    for k, line in enumerate(rods.feature.tolist()):
        post = piece.is_for(line, Role.EAR_POST) and rods.long[k] > 2 * rods.wire[k]
        body = castings.body_at(rods.foot[k]) if post and abs(rods.way[k, 2]) > LEVEL else None
        if body is not None:
            posts.setdefault(body, []).append(k)
    for body, mine in posts.items():
        if len(mine) != 1:
            continue  # it is held level by two
        foot, line = rods.foot[mine[0]], int(rods.feature[mine[0]])
        skin, casting = castings.bodies[body].skin, castings.castings[castings.bodies[body].casting]
        alone = len(casting.bodies) == 1
        centre = casting.centre[1] if alone else volume_and_centre(skin)[1]
        bound = piece.bound("drooping-stud", "most", line)
        droop = float(centre[1] - foot[1])
        wide, tall = np.ptp(skin.points[:, :2], axis=0)
        climbs = tall > CLIMBS * wide
        if above(droop, bound):
            yield Verdict(
                "this climber stands above its post: the post alone does not hold it up" if climbs
                else "this stud droops: its post stands below its weight",
                line,
                f"the weight lies {mm(droop)} above the post",
                most(mm(bound)),
                "hold its upper end by a back loop or a second post" if climbs
                else f"move the post {told(piece, line, np.array([0.0, droop, 0.0]), 'up')}",
                droop,
                bound,
                keys=("up", "at"),
                place=place(foot),
                level=Level.HINT if climbs else Level.WARNING,
            )  # fmt: skip
