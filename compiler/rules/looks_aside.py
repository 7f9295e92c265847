"""looks-aside: what hangs in a hoop and shows its edge when that is worn."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.hung import STAND, asked, own_loops
from ..bench.worn import worn_aside
from ..judging.edges import reach
from ..judging.figure_rule import Reading
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..measures.kinds import Floats

ASIDE = 0.7  # cosine to the axis of a hoop, from which a face looks to the shoulder
ROUND = {"pearl", "bead"}  # cuts that look alike all round


def check(piece: Piece) -> Iterator[Reading]:
    for feature in piece.features:
        host = piece.call(feature.index).get("hangs-in")
        if not isinstance(host, Feature) or not worn_aside(piece.bench, host):
            continue
        parts = [one for one in piece.features if one.name.startswith(f"{feature.name}.")]
        way, stone = _faces(piece, parts)
        if abs(way[2]) <= ASIDE:
            continue
        off = float(np.degrees(np.arccos(min(abs(way[0]), 1.0))))
        looks = "looks to the shoulder" if stone else "is seen edge-on"
        yield Reading(
            feature.index, off, feature, words={"name": feature.name, "looks": looks},
            cure=_turned(parts, host), level=None if stone else Level.HINT,
        )  # fmt: skip


def _faces(piece: Piece, parts: list[Feature]) -> tuple[Floats, bool]:
    """The way (3,) that the largest stone of some parts looks, or else their broadest flat metal, and whether
    it is a stone; zeros where there is neither."""
    stones, mine = piece.stones, {one.index for one in parts}
    faced = [
        (kind.length * kind.width, stones.frames[k, :, 2]) for k, line in enumerate(stones.feature.tolist())
        if line in mine and (kind := stones.of(k)).cut not in ROUND
    ]  # fmt: skip
    if faced:
        return max(faced, key=lambda one: one[0])[1], True
    flat = [
        (broad, one.frames[0, :, 2]) for one in parts
        if one.outline is not None and len(one.frames)
        and (broad := reach(one.outline)) > one.high - one.low
    ]  # fmt: skip
    return max(flat, key=lambda one: one[0], default=(0.0, np.zeros(3)))[1], False


def _turned(parts: list[Feature], host: Feature) -> str:
    """What turns the parts of a casting a quarter as they hang in ``host``."""
    loops = list(own_loops(parts))
    top = max(loops, key=lambda loop: loop[1][:, 1, 3].max(), default=None)
    if top is not None and (line := top[0].may_stand):
        line = f"the line of {asked(line)}"
        return f"leave '{STAND}' out in {line}" if top[0].on_edge else f"say '{STAND}' on {line}"
    return f"turn the loop it hangs by, or that of {asked(host.name)}, a quarter about its length"
