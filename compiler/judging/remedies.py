"""Changes of text that surely answer a verdict of several rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..bench.feature import Feature
from ..bench.roles import FigureOf, Role
from .digits import rounded_up
from .figures import figure, figures
from .rule import Mend

if TYPE_CHECKING:
    from .piece import Piece


def deeper(piece: Piece, body: int, lack: float) -> Mend | None:
    """Metal ``lack`` mm more between the face of a body and its back: a thicker roof where it is
    hollow, a thicker disc or plate where it hangs below its stones."""
    for feature, call in piece.with_role(Role.OPENS):
        inside, roof = call.get("in"), figure(call, FigureOf.ROOF)
        if isinstance(inside, Feature) and inside.index == body and roof is not None:
            return Mend(roof[0], rounded_up(roof[1] + lack), "least", feature.index)
    call = piece.call(body)
    thick = figure(call, FigureOf.THICKNESS)
    if thick is None or not call.given("under") or isinstance(thick[1], tuple):
        return None
    return Mend(thick[0], rounded_up(thick[1] + lack), "least", body)


def farther(piece: Piece, line: int, lack: float) -> Mend | None:
    """Stones of a straight row ``lack`` mm farther apart."""
    call = piece.call(line)
    every = call.get("every") if call.given("row") and call.given("every") else ()
    steps = every if isinstance(every, tuple) else (every,)
    if len(steps) != 1:
        return None
    return Mend("every", rounded_up(float(steps[0]) + lack), "least", line)


BESIDE_HOLE = 0.4  # mm of metal left on each side of a hole in a wire


def may_be_holed(piece: Piece, feature: int, across: float) -> bool:
    """Whether a hole so wide (mm) may be cut in metal and it still does its work: a body, or wire with metal
    left on both sides; no finding, loop or pin, and nothing that holds a stone as a claw or a rail does."""
    if piece.is_for(feature, Role.FINDING, Role.PIN, Role.EAR_POST, Role.EAR_WIRE, Role.PRONG, Role.BEAD):
        return False
    if piece.features[feature].opening is not None or feature in piece.rods.feature.tolist():
        return False
    if piece.is_for(feature, Role.WIRE):
        sizes = figures(piece.call(feature), FigureOf.SECTION, FigureOf.WIRE)
        wide = max((max(one) if isinstance(one, tuple) else float(one) for _, _, one in sizes), default=0.0)
        return wide >= across + 2 * BESIDE_HOLE
    return True


def written(piece: Piece, *features: int) -> tuple[str, ...]:
    """What lines of work are called where a line beside them all is written; last the block that is to
    stand in, as " in the block of stud", or nothing."""
    names = [piece.name_of(one).split(".") for one in features]
    shared = 0
    while all(len(name) > shared + 1 and name[shared] == names[0][shared] for name in names):
        shared += 1
    block = f" in the block of {names[0][shared - 1]}" if shared else ""
    return *(name[shared] for name in names), block
