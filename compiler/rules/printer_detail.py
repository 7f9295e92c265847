"""Details finer than the printer makes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..judging.digits import below, least, mm, place
from ..judging.figures import figure, narrowest
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
