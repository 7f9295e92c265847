"""What hangs in one ring at one spot of it, and how far round the ring the later of them belongs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.hung import openings, rings

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..bench.feature import Feature
    from .piece import Piece

BETWEEN = 1.0  # mm, left between two that hang side by side
STEP = 5.0  # degrees, to which the way round a ring is told


def farther_round(piece: Piece, late: int, early: int | None = None) -> str:
    """What to write to hang the line ``late``, or what it hangs by, beside the line ``early``, or beside any
    before it, that hangs at the same spot of a ring; "" where none does."""
    others = [early] if early is not None else range(late)
    before = {(host, around): call for one in others for host, around, call in _climb(piece, piece.call(one))}
    for host, around, call in _climb(piece, piece.call(late)):
        mate = before.get((host, around))
        if mate is not None and mate is not call:
            ring = piece.features[host]
            loops = (one.opening for one, _ in (*openings(ring), *rings([ring])))
            inside = max((loop[0] for loop in loops if loop is not None), default=0.0)
            apart = (_width(piece, call) + _width(piece, mate)) / 2 + BETWEEN
            turn = around + STEP * np.ceil(np.degrees(apart / max(inside / 2, BETWEEN)) / STEP)
            return f"hang {call.name} farther round {ring.name}: say 'around {turn:g} deg' on it"
    return ""


def _climb(piece: Piece, call: Call) -> Iterator[tuple[int, float, Call]]:
    """From a line up through what it hangs in: the ring, how far round it, and the line that hangs there."""
    while call.given("hangs-in"):
        host: Feature = call.get("hangs-in")
        yield host.index, call.get("around", 0.0), call
        root = host.name.partition(".")[0]
        call = next(one for one in piece.bench.lines if one.name == root)


def _width(piece: Piece, call: Call) -> float:
    """How far the metal of a line and of all that hangs by it reaches from left to right."""
    below = (one.name for one in piece.bench.lines if any(by is call for *_, by in _climb(piece, one)))
    names = {call.name, *below}
    skin = piece.skin_measures.skin
    owners = [k for k, one in enumerate(piece.features) if one.name.partition(".")[0] in names]
    spots = skin.corners[np.isin(skin.owner, owners)].reshape(-1, 3)
    return float(np.ptp(spots[:, 0])) if len(spots) else 0.0
