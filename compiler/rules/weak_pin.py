"""Pins that bend in the cloth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import mm, times
from ..judging.figure_rule import LEAST, MOST, Aspect, Reading, Test, Tier
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _pins(piece: Piece) -> Iterator[tuple[int, int]]:
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, Role.PIN) and rods.long[k] > 4 * rods.wire[k]:
            yield k, line


def _wires(piece: Piece) -> Iterator[Reading]:
    for k, line in _pins(piece):
        yield Reading(line, float(piece.rods.wire[k]), piece.rods.foot[k])


def _ratios(piece: Piece) -> Iterator[Reading]:
    for k, line in _pins(piece):
        long, wire = float(piece.rods.long[k]), float(piece.rods.wire[k])
        yield Reading(line, long / wire, piece.rods.foot[k], (long, wire))


WIRE = Aspect(_wires, "wire", ("wire",))
RATIO = Aspect(
    _ratios, "long", ("long",),
    seen=lambda one: f"{mm(one.of[0])} long, {mm(one.of[1])} thick: {times(one.figure)}",
    limit=lambda bound, _: times(bound),
    value=lambda bound, one: f"{one.of[0] / bound:.2f} mm",
)  # fmt: skip

_THIN = Test(WIRE, (Tier("wire", "this pin is thin"),), "take wire of {value}", mend="wire")
_LONG = Test(
    RATIO, (Tier("ratio", "this pin is long for its wire"),), "take wire of {value}, or a shorter pin"
)


def check(piece: Piece) -> Iterator[Verdict]:
    yield from _THIN.verdicts("weak-pin", LEAST, piece)
    yield from _LONG.verdicts("weak-pin", MOST, piece)
