"""finding-in-front: an ear post, a pin or a hidden bail that stands on the side one sees, or not behind."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.castings import Casting
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

BEHIND = Role.PIN, Role.BACK_BAIL  # what lies behind a piece; an ear post is judged by where it points
FLAT = 0.8  # cosine to a way of what is taken to go that way
ADVICE = "stand it at the back: 'at back of' the metal it is on"


def check(piece: Piece) -> Iterator[Verdict]:
    rods, castings = piece.rods, piece.casting_measures
    for k, line in enumerate(rods.feature.tolist()):
        if not piece.is_for(line, Role.EAR_POST) or rods.long[k] <= 2 * rods.wire[k]:
            continue
        look, seen = _look(piece, castings.casting_at(rods.foot[k]))
        off = float(np.degrees(np.arccos(np.clip(rods.way[k] @ look, -1.0, 1.0))))
        front, behind = (piece.bound("finding-in-front", what, line) for what in ("least", "behind"))
        # A hoop is drawn from its side, and its post there; but no post goes up through an ear.
        plain = abs(look[2]) > FLAT and (seen == "stones look" or abs(rods.way[k, 1]) > FLAT)
        bound = front if below(off, front) or not plain else behind
        if below(off, bound):
            yield Verdict(
                "this ear post stands on the front" if bound is front
                else "this ear post does not go back through the ear",
                line,
                f"it points {off:.0f} degrees from the way the {seen}",
                least(f"{bound:g} degrees"),
                ADVICE,
                off,
                bound,
                keys=("at",),
                place=place(rods.foot[k]),
            )
    yield from _in_front(piece)


def _in_front(piece: Piece) -> Iterator[Verdict]:
    """What belongs behind the piece and stands before all other metal."""
    mine = [feature for feature, call in piece.with_role(*BEHIND) if feature.body is not None]
    if not mine:
        return
    skin = piece.skin_measures.skin
    middles = skin.corners.mean(axis=1)
    rest = ~piece.skin_measures.flags(f.index for f, _ in piece.with_role(*BEHIND))
    told: set[str] = set()
    for feature in mine:
        faces = skin.owner == feature.index
        name = piece.name_of(feature.index)
        if name in told or not faces.any() or not rest.any():
            continue
        look, _ = _look(piece, piece.casting_measures.casting_at(middles[faces][0]))
        before = float(np.median(middles[faces] @ look) - (middles[rest] @ look).max())
        if before > 0:
            told.add(name)
            yield Verdict(
                "this finding stands on the front", feature.index, f"{mm(before)} before all other metal",
                "behind it", ADVICE, before, 0.0, keys=("at",), place=place(middles[faces].mean(axis=0)),
            )  # fmt: skip


def _look(piece: Piece, casting: Casting | None) -> tuple[Floats, str]:
    """The way a casting looks, (3,), and what tells it: its stones, or that a face looks toward you."""
    at = piece.casting_measures.casting_at
    mine = [frame[:, 2] for frame in piece.stones.frames if at(frame[:, 3]) is casting]
    look = np.sum(mine, axis=0) if mine else np.zeros(3)
    size = float(np.linalg.norm(look))
    return (look / size, "stones look") if size > 0.5 else (np.array([0.0, 0.0, 1.0]), "face looks")
