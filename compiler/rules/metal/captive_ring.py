"""captive-ring: a loose ring round another casting that is wider on both sides of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...bench.feature import Feature
    from ...judging.castings import Casting
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


def check(piece: Piece) -> Iterator[Verdict]:
    cast = piece.casting_measures.cast
    rings = piece.with_role(Role.SHANK) if len(cast) > 1 else ()
    for ring, _ in rings:
        mine = next((one for one in cast if ring.index in one.skin.owner), None)
        for other in cast if mine is not None else ():
            if mine is not None and other is not mine and (found := _held(piece, ring, mine, other)):
                yield found


def _held(piece: Piece, ring: Feature, mine: Casting, other: Casting) -> Verdict | None:
    """What is told of a ring that cannot go over what stands within it, whole."""
    own, on_own = _round(ring, mine.skin.corners[mine.skin.owner == ring.index].reshape(-1, 3))
    off, along = _round(ring, other.skin.corners.reshape(-1, 3))
    inside, low, high = float(own.min()), float(on_own.min()), float(on_own.max())
    sides, within = along.reshape(-1, 3), (off.reshape(-1, 3) < inside).all(axis=1)
    through = (sides.min(axis=1) < high) & (sides.max(axis=1) > low) & within
    beyond = [float(off[one].max(initial=0.0)) for one in (along <= low, along >= high)]
    if not through.any() or not above(min(beyond), inside):
        return None
    edge = int(other.skin.owner[int(np.where(along >= high, off, 0.0).argmax()) // 3])
    name, held = piece.name_of(ring.index), piece.name_of(edge) if edge >= 0 else other.called
    return Verdict(
        f"{name} cannot go over {held} whole: the metal within it is wider on both sides",
        ring.index,
        f"{mm(2 * inside)} inside, {mm(2 * min(beyond))} to pass",
        "a way on, from one side",
        f"cast {name} open and close it in its place, or solder {held} on after it",
        inside,
        min(beyond),
        keys=("inside",),
        place=place(ring.frames[0, :, 3]),
    )


def _round(ring: Feature, spots: Floats) -> tuple[Floats, Floats]:
    """How far spots (n, 3) lie from the axis of a ring, and where along it."""
    frame = ring.frames[0]
    from_middle = spots - frame[:, 3]
    along = from_middle @ frame[:, 1]
    return np.linalg.norm(from_middle - along[:, None] * frame[:, 1], axis=1), along
