"""palm-stones: stones on the palm side of a ring that is not set all round."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import above, mm, most, place, rounded_up
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

FINGER = 28.0  # mm inside, a ring that is wider goes round a wrist
NEAR = 12.0  # mm from the finger, stones farther off are no stones of this ring
ROUND = 100.0  # degrees without stones that a ring set all round may have, for sizing

LEVEL = 0.5  # of an axis up or down, which such a finger does not lie along


def check(piece: Piece) -> Iterator[Verdict]:
    for feature, _ in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        if inside is None or inside.value > FINGER or not len(piece.stones.kind):
            continue
        spots = fr.apply(fr.inverse(feature.frames[0]), piece.stones.frames[:, :, 3])
        far = np.hypot(spots[:, 0], spots[:, 2])
        near = np.flatnonzero((far > inside.value / 2) & (far < inside.value / 2 + NEAR))
        angle = np.degrees(np.arctan2(spots[near, 0], spots[near, 2]))
        bound = piece.bound("palm-stones", "most", feature.index)
        palm = np.array([k for k, off in zip(near, np.abs(angle).tolist(), strict=True) if above(off, bound)])
        order = np.sort(angle)
        bare = np.diff(np.r_[order, order[:1] + 360.0]).max(initial=0.0)
        if not len(palm) or bare < ROUND:
            continue
        worst = int(near[np.abs(angle).argmax()])
        yield Verdict(
            f"{len(palm)} stone{'s lie' if len(palm) > 1 else ' lies'} on the palm side of the ring",
            int(piece.stones.feature[worst]),
            f"{np.abs(angle).max():.0f} degrees from the head",
            most(f"{bound:g} degrees"),
            "lay them nearer to the head: 0 % of a way round a ring is there, 50 % at the back",
            float(np.abs(angle).max()),
            bound,
            keys=("stretch", "around", "along"),
            place=place(piece.stones.frames[worst, :, 3]),
        )


def on_metal(piece: Piece) -> Iterator[Verdict]:
    """Rings of wire, all of whose stones stand on the under side."""
    hole, frames = piece.wear_measures.hole, piece.stones.frames
    if piece.wear_measures.bore is not None or hole is None or not len(frames) or abs(hole.axis[2]) > LEVEL:
        return
    high = frames[:, 2, 3] - hole.middle[2]
    least = int(high.argmax())
    if high[least] < 0:
        top = float(piece.skin_measures.skin.box[1][2])
        yield Verdict(
            "the stones of this ring stand at the palm",
            int(piece.stones.feature[least]),
            f"{mm(-float(high[least]))} below the middle of the finger",
            "above it",
            f"set them on top: without a place of their own at 'out {rounded_up(top)}' or more",
            float(high[least]),
            0.0,
            keys=("at",),
            place=place(frames[least, :, 3]),
            level=Level.WARNING,
        )
