"""Details finer than the printer makes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

SECTIONS = ("round", "square", "flat", "half-round", "knife-edge")


def _check(piece: Piece) -> Iterator[Finding]:
    wire, gap = piece.bound("printer-detail", "least"), piece.bound("printer-detail", "gap")
    for feature, call in piece.of_word("wire", "drill"):
        drilled = call.word.name == "drill"
        key = "across" if drilled else next((s for s in SECTIONS if call.given(s)), "round")
        value = call.get(key)
        figure = min(value) if isinstance(value, tuple) else value
        limit = gap if drilled else wire
        if figure is None or not below(figure, limit):
            continue
        yield Finding(
            "this hole closes in the print" if drilled else "this wire is too fine to print",
            feature.index,
            mm(figure),
            least(mm(limit)),
            "make it wider, or drill it after casting" if drilled else "take thicker wire",
            float(figure),
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
