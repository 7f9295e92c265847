"""sideways-move: 'up' or 'down' at an end of metal, where they do not go up or down."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Places
from ..judging.digits import above, mm
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece

UP = np.array([0.0, 1.0, 0.0])
WAYS = (("to the right", "to the left"), ("up", "down"), ("out", "inward"))
CLAUSES = (("right", "left"), ("up", "down"), ("out", "inward"))


def check(piece: Piece) -> Iterator[Verdict]:
    told = set()
    for feature in piece.features:
        call = piece.call(feature.index)
        line = call.trail[0] if call.trail else call.span
        if line in told:
            continue
        told.add(line)
        yield from _of_line(piece, feature.index, call)


def _of_line(piece: Piece, feature: int, call: Call) -> Iterator[Verdict]:
    arguments = call.within[0].arguments if call.within else call.arguments
    at = arguments.get("at")
    if at is None or not isinstance(at.value, Places) or not at.value.ends or not len(at.value):
        return
    axes = at.value.frames[0, :, :3]
    off = float(np.degrees(np.arccos(np.clip(axes[1, 1], -1.0, 1.0))))
    bound = piece.bound("sideways-move", "most", feature)
    for key, sign in (("up", 1.0), ("down", -1.0)):
        said = arguments.get(key)
        if said is None or not said.given or not said.value or not above(off, bound):
            continue
        sign *= 1.0 if said.value > 0 else -1.0
        goes, wanted = _most(sign * axes[:, 1], WAYS), _most(sign * axes.T @ UP, CLAUSES)
        figure = mm(abs(said.value))
        yield Verdict(
            f"at this end '{key}' goes {goes}: a place looks its own way, its right away from the metal",
            feature,
            f"{off:.0f} degrees off",
            f"{bound:g} degrees or less",
            f"say '{wanted} {figure}' to go {WAYS[1][int(sign < 0)]}, or stay with what is drawn: 'waive'",
            off,
            bound,
            keys=(key,),
        )


def _most(way: np.ndarray, names: tuple[tuple[str, str], ...]) -> str:
    """The name of the axis that a way (3,) goes along most."""
    axis = int(np.abs(way).argmax())
    return names[axis][int(way[axis] < 0)]
