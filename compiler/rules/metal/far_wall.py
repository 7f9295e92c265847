"""far-wall: a hole that goes on through the finger's hole, into the other side of a ring."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...geometry import frames as fr
from ...geometry.outlines import trace
from ...judging.digits import mm, place, rounded_up
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.bores import Bore
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

KINDS = "hole", "prism"  # of a depth that is found, and of one that is told
WIDE = 0.5  # of the radius of the finger's hole, a way through it so long crosses it


def check(piece: Piece) -> Iterator[Verdict]:
    bore, skin = piece.wear_measures.hole, piece.skin_measures.skin
    mine = {f.index for f, call in piece.with_role(Role.CUT) if not call.trail and not call.get("through")}
    for tool in piece.plan_solids if bore is not None and mine else ():
        if not tool.cut or tool.kind not in KINDS or tool.feature not in mine or tool.bent is not None:
            continue  # what is cut in the flat meets no other side
        assert bore is not None
        wall = skin.corners[skin.owner == tool.feature].reshape(-1, 3)
        wide = 1.01 * float(np.linalg.norm(trace(tool.figures[0]), axis=1).max())
        for frame in tool.frames:
            near, past = _across(bore, frame)
            if near is None:
                continue
            own = fr.apply(fr.inverse(frame), wall)
            along = np.flatnonzero(np.hypot(own[:, 0], own[:, 1]) < wide)
            # Where the other side has a place of its own, it is cut from there.
            apart = np.linalg.norm(wall[along, None] - tool.frames[None, :, :, 3], axis=2).min(axis=1)
            deep = -own[along[np.linalg.norm(own[along], axis=1) < apart + 1e-6], 2]
            if len(deep) and deep.max() > past:
                yield _found(piece, tool.feature, bore, frame, deep, near)
                break


def _found(
    piece: Piece, cut: int, bore: Bore, frame: Floats, deep: Floats, near: float
) -> Verdict:
    held = deep[deep <= near]
    remedy = "leave this line out, there is no metal at its place for it to cut"
    if len(held):
        remedy = f"say 'deep {rounded_up(float(held.max()) + 0.1)}'"
    end = float(deep.max())
    return Verdict(
        f"{piece.name_of(cut)} goes on into the other side of {piece.name_of(bore.feature)}",
        cut,
        f"metal is cut {mm(end)} below its place, beyond the hole of {mm(2 * bore.radius)}",
        "an end before that hole",
        f"{remedy}; say 'through', where both sides are to be cut",
        end,
        near,
        keys=("deep", "in", "at"),
        place=place(frame[:, 3] - end * frame[:, 2]),
        others=(bore.feature,),
    )


def _across(bore: Bore, frame: Floats) -> tuple[float | None, float]:
    """How far below a place its axis goes into the hole for the finger and leaves it again; None where
    it begins in that hole, or does not cross it."""
    go, way = frame[:, 3] - bore.middle, -frame[:, 2]
    go, way = (one - (one @ bore.axis) * bore.axis for one in (go, way))
    square, half = float(way @ way), float(go @ way)
    root = half * half - square * (float(go @ go) - bore.radius**2)
    if square < 1e-6 or root <= 0:
        return None, 0.0
    near, past = ((-half + sign * root**0.5) / square for sign in (-1.0, 1.0))
    return (near, past) if near > -0.1 and past - near > WIDE * bore.radius else (None, 0.0)
