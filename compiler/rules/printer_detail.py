"""Details finer than the printer makes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..judging.digits import below, least, mm, place
from ..judging.figures import figure, narrowest
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    wire, gap = piece.bound("printer-detail", "least"), piece.bound("printer-detail", "gap")
    for feature, call in piece.with_role(Role.WIRE, Role.HOLE):
        drilled = piece.is_for(feature.index, Role.HOLE)
        section = ("across", call.get("across")) if drilled else figure(call, FigureOf.SECTION)
        if section is None:
            continue
        key, size = section[0], narrowest(section[1])
        limit = gap if drilled else wire
        if not below(size, limit):
            continue
        yield Verdict(
            "this hole closes in the print" if drilled else "this wire is too fine to print",
            feature.index,
            mm(size),
            least(mm(limit)),
            "make it wider, or drill it after casting" if drilled else "take thicker wire",
            size,
            limit,
            key=key,
            keys=("wire", "across"),
            place=place(feature.frames[0, :, 3]),
        )


RULE = Rule(
    "printer-detail",
    "A detail is too fine to print.",
    "plan",
    Level.WARNING,
    "A castable resin resolves about a third of a millimetre: finer wire breaks off the "
    "supports, finer holes fill with cured resin.",
    "Keep wires and holes at 0.3 mm or more.",
    "SB saqlainbullion.com/blog/minimum-wall-thickness; holes: common practice, no source",
    _check,
)
