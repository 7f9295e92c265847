"""uncovered-girdle: metal over the girdle, but too little of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...bench.plan import Shape, Step
    from ...judging.piece import Piece

SPARE = 0.02  # mm, what chords take of a bead


def check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        if not around.grip > 0:
            continue  # see loose-stone
        lap = min(
            (lap for lap in around.laps if lap.over >= around.grip), key=lambda one: one.over
        )
        owner = lap.owner if lap.owner >= 0 else int(piece.stones.feature[stone])
        bound = piece.bound("uncovered-girdle", "least", owner)
        if below(around.grip, bound):
            yield Verdict(
                f"{piece.name_of(owner)} hardly laps over the girdle it holds",
                owner,
                f"{mm(around.grip)} over stone {stone + 1}",
                least(mm(bound)),
                _remedy(piece, owner, bound - around.grip),
                around.grip,
                bound,
                keys=("bite", "wire"),
                place=place(lap.at),
            )


def _remedy(piece: Piece, owner: int, lack: float) -> str:
    """Thicker beads by their own clause; bending draws beads off stones that were set before it."""
    wire = piece.call(owner).get("wire")
    if not piece.is_for(owner, Role.GRAINS) or wire is None:
        return "bring it nearer to the stone, or use thicker wire"
    thicker = f"write bead {rounded_up(float(wire) + 2 * lack + SPARE)}"
    bent = any(one.kind == "bent" for one in _around(piece.bench.plan().steps, owner))
    return f"{thicker}, or set the stones after the bending: their lines below it" if bent else thicker


def _around(steps: Iterable[Step], feature: int) -> Iterator[Shape]:
    """The shapes that the steps of a feature stand in, parts and bent work."""
    for step in steps:
        inside = list(_around(step.shape.steps, feature))
        if inside or any(one.feature == feature for one in step.shape.steps):
            yield from (step.shape, *inside)
