"""broken-hole: a drilled hole that breaks out through the rim of its metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...geometry import frames as fr
from ...judging.digits import place
from ...judging.rule import Verdict
from ...measures.arcs import circular_runs

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

STEP = 3.0  # degrees
OPEN, NOTCH = 5.0, 150.0  # degrees; open by less may be rounding, by more it is a notch that is meant
MOST = 200  # holes of one line, past which they are a pattern


def check(piece: Piece) -> Iterator[Verdict]:
    skin = piece.skin_measures.skin
    for feature, call in piece.with_role(Role.HOLE):
        if call.trail or call.get("ball"):
            continue  # a word knows where it cuts; a ball burr leaves a hollow
        wall = skin.corners[skin.owner == feature.index]
        across = call.get("across")
        if across is None or not len(wall) or len(feature.frames) > MOST:
            continue
        for frame in feature.frames:
            own = fr.apply(fr.inverse(frame), wall.reshape(-1, 3)).reshape(-1, 3, 3)
            own = own[np.hypot(own[:, :, 0], own[:, :, 1]).max(axis=1) < 0.51 * across]
            gap, middle = _gap(own)
            if not len(own) or not OPEN < gap < NOTCH:
                continue
            high = float(own[:, :, 2].min() + own[:, :, 2].max()) / 2
            way = np.cos(middle) * frame[:, 0] + np.sin(middle) * frame[:, 1]
            start = frame[:, 3] + high * frame[:, 2]
            if skin.grid.cast(start[None], way[None], leaving=False)[1][0] < 0:
                yield Verdict(
                    "this hole breaks out through the rim",
                    feature.index,
                    f"{gap:.0f} degrees of it have no metal round them",
                    "metal all round",
                    "move it inward, or drill it smaller",
                    gap,
                    0.0,
                    keys=("across", "at"),
                    place=place(start + across / 2 * way),
                )


def _gap(own: Floats) -> tuple[float, float]:
    """The widest arc about a hole's axis without wall, degrees, and its middle, radians, from the wall's
    triangles (n, 3, 3) in the frame of the hole."""
    turn = np.degrees(np.arctan2(own[:, :, 1], own[:, :, 0]))
    first = turn[:, 0]
    off = (turn - first[:, None] + 180.0) % 360.0 - 180.0
    low, high = (first + off.min(axis=1)) / STEP, (first + off.max(axis=1)) / STEP
    count = round(360.0 / STEP)
    bins = np.arange(count) + 0.5
    some = np.ceil(((bins[None] - low[:, None]) % count) - (high - low)[:, None]) <= 0
    _, start, size = circular_runs(~some.any(axis=0)[None])
    if not len(size):
        return 0.0, 0.0
    widest = int(np.argmax(size))
    return STEP * float(size[widest]), float(np.radians((start[widest] + size[widest] / 2) * STEP))
