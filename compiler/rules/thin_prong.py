"""Prongs too thin for their stone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.limits import prong_wire
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.grips import Grip
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for grip in piece.grips:
        floor = piece.bound("thin-prong", "least", grip.feature)
        usual = prong_wire(grip.width, piece.family(grip.feature), grip.count)
        advised = usual * piece.bound("thin-prong", "usual", grip.feature)
        if below(grip.wire, floor):
            better = max(floor, advised)
            yield _found(grip, "this prong is too thin", floor, least(mm(floor)), better)
        elif below(grip.wire, advised):
            limit = f"{least(mm(advised))} for a stone of {mm(grip.width)}; usual {mm(usual)}"
            yield _found(grip, "this prong is thin for its stone", advised, limit, advised)


def _found(grip: Grip, message: str, bound: float, limit: str, better: float) -> Finding:
    return Finding(
        message,
        grip.feature,
        mm(grip.wire),
        limit,
        f"take wire of {rounded_up(better)}",
        grip.wire,
        bound,
        key="across",
        keys=("wire",),
        place=place(grip.spot),
        mend=Mend("across", rounded_up(better), "least"),
    )


RULE = Rule(
    "thin-prong",
    "A prong is too thin for its stone.",
    "plan",
    Level.WARNING,
    "A thin prong may not fill in casting, loses the most to filing and polishing, and wears "
    "or bends open until the stone is lost.",
    "Take thicker wire; about 0.6 mm for 2 mm stones, 1 mm for 6 mm ones.",
    "GE gemwares.com (production notes page); by stone: common practice, no source",
    _check,
)
