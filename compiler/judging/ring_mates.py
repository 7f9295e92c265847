"""What hangs in one ring at one spot of it, and how far round the ring the later of them belongs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..bench.feature import Feature
from ..bench.hung import asked, openings, rings
from .piece import Piece

BETWEEN = 1.0  # mm, left between two that hang side by side
MOST = 180.0  # degrees round a ring
STEP = 5.0  # degrees, to which the way round a ring is told


def farther_round(piece: Piece, late: int, early: int | None = None) -> str:
    """What to write to hang the line ``late``, or what it hangs by, beside the line ``early``, or beside any
    before it, that hangs at the same spot of a ring; "" where none does."""
    others = [early] if early is not None else range(late)
    before = {(ring.name, around): one for other in others for ring, around, one in climb(piece, other)}
    for ring, around, one in climb(piece, late):
        mate = before.get((ring.name, around))
        if mate is not None and mate is not one:
            loops = (loop.opening for loop, _ in (*openings(ring), *rings([ring])))
            inside = max((loop[0] for loop in loops if loop is not None), default=0.0)
            apart = (_width(piece, one) + _width(piece, mate)) / 2 + BETWEEN
            turn = around + STEP * np.ceil(np.degrees(apart / max(inside / 2, BETWEEN)) / STEP)
            if turn < MOST:
                return f"hang {one.name} farther round {asked(ring.name)}: say 'around {turn:g} deg' on it"
            return f"hang {one.name} in another loop: {asked(ring.name)} has no room for both"
    return ""


def climb(piece: Piece, line: int) -> Iterator[tuple[Feature, float, Feature]]:
    """From a line up through what it hangs in: the ring, how far round it, and what hangs there."""
    one: Feature | None = piece.features[line]
    while one is not None and piece.call(one.index).given("hangs-in"):
        call = piece.call(one.index)
        host: Feature = call.get("hangs-in")
        yield host, call.get("around", 0.0), one
        root = host.name.partition(".")[0]
        one = next((other for other in piece.features if other.name == root), None)


def _width(piece: Piece, hung: Feature) -> float:
    """How far the metal of a line and of all that hangs by it reaches from left to right."""
    below = (one.name for one in piece.features if any(by is hung for *_, by in climb(piece, one.index)))
    names = {hung.name, *below}
    skin = piece.skin_measures.skin
    owners = [k for k, one in enumerate(piece.features) if one.name.partition(".")[0] in names]
    spots = skin.corners[np.isin(skin.owner, owners)].reshape(-1, 3)
    return float(np.ptp(spots[:, 0])) if len(spots) else 0.0
