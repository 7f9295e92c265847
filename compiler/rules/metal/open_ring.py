"""open-ring: balls that touch one another all round a ring, but at one place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...geometry.circle import circle_near
from ...judging.digits import mm, most, place
from ...judging.rule import Verdict
from ...measures.kinds import frame_of, length
from ...measures.rays import room_at

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Floats, Ints

FEW = 6  # balls, fewer are no ring
ROUND = 0.04  # of its radius, how round a ring is
TOUCH = 0.01  # mm
OPEN = 2.2  # times as far apart as they touch; what stands farther is meant to be open
BARE = 0.3  # of the gap, how far all metal lies from its middle


def check(piece: Piece) -> Iterator[Verdict]:
    found = [
        (one.feature, one.figures[0] / 2, *(at[:, 2] * one.figures[0] / 2 + at[:, 3]))
        for one in piece.plan_solids if one.kind == "ball" and not one.cut for at in one.frames
    ]  # fmt: skip
    table = np.array(found).reshape(-1, 5)
    spots, radius, lines = table[:, 2:], table[:, 1], table[:, 0].astype(int)
    order = _round(spots) if len(spots) >= FEW else np.zeros(0, dtype=int)
    if not len(order):
        return
    after = np.roll(order, -1)
    apart = length(spots[after] - spots[order])
    touch = radius[order] + radius[after]
    (gaps,) = np.nonzero(apart > touch + TOUCH)
    if len(gaps) != 1 or apart[gaps[0]] > OPEN * touch[gaps[0]]:
        return
    gap = int(gaps[0])
    one, other = int(order[gap]), int(after[gap])
    middle = (spots[one] + spots[other]) / 2
    free = float(apart[gap] - touch[gap])
    if room_at(piece.skin_measures.skin, middle[None], free)[0] > BARE * free:
        names = {piece.name_of(int(lines[k])) for k in (one, other)}
        yield Verdict(
            f"the balls touch all round but here: the ring stands open in {' and '.join(sorted(names))}",
            int(max(lines[one], lines[other])),
            f"{mm(float(apart[gap]))} from middle to middle",
            most(mm(float(touch[gap]))),
            "'number' puts the first and the last at the ends of an open stretch: end it at their middles, or"
            " give it one more; leave it, where it is meant to be open",
            float(apart[gap]),
            float(touch[gap]),
            keys=("number", "stretch", "along"),
            place=place(middle),
            others=(int(lines[one]), int(lines[other])),
        )  # fmt: skip


def _round(spots: Floats) -> Ints:
    """The order of spots (n, 3) round a circle they all lie near; none where they lie on no circle."""
    middle, axis, _ = circle_near(spots)
    one, two = frame_of(axis)
    flat = (spots - middle) @ np.stack((one, two), axis=1)
    far = np.hypot(*flat.T)
    off = np.maximum(np.abs(far - far.mean()), np.abs((spots - middle) @ axis))
    if off.max() > ROUND * far.mean():
        return np.zeros(0, dtype=int)
    return np.argsort(np.arctan2(flat[:, 1], flat[:, 0]), kind="stable")
