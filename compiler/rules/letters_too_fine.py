"""Letters and lines engraved or raised too fine or too shallow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import PRISM
from ..bench.roles import Role
from ..geometry.outlines import signed_area, trace_all
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.plan_solids import PlanSolid
from ..judging.rule import Level, Mend, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

FINE = 0.01  # mm, chord error of the strokes measured


def _check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.ENGRAVING):
        side = "raised" if call.get("raised") else "cut"
        deep, high = call.get("deep"), "height" if side == "raised" else "depth"
        limit = piece.bound("letters-too-fine", f"{side}-{high}", feature)
        if deep is not None and below(deep, limit):
            yield Verdict(
                f"these letters or lines are of little {high}",
                feature.index,
                mm(deep),
                least(mm(limit)),
                f"say 'deep {rounded_up(limit)}'",
                deep,
                limit,
                key="deep",
                keys=("deep",),
                place=place(feature.frames[0, :, 3]),
                level=Level.HINT,
                mend=Mend("deep", rounded_up(limit), "least"),
            )
        yield from _strokes(piece, feature.index, side)


def _strokes(piece: Piece, line: int, side: str) -> Iterator[Verdict]:
    """The thinnest stroke of one line of engraving."""
    limit = piece.bound("letters-too-fine", f"{side}-width", line)
    marks = [laid for laid in piece.plan_solids if laid.feature == line and laid.kind == PRISM]
    found = [(_stroke(laid), laid) for laid in marks]
    if not found:
        return
    width, laid = min(found, key=lambda pair: pair[0])
    if below(width, limit):
        tall = piece.call(line).get("tall") if piece.call(line).given("letters") else None
        yield Verdict(
            "the strokes of these letters or lines are fine",
            line,
            f"{mm(width)} wide in the mean",
            least(mm(limit)),
            "make them taller, or take a bolder font"
            if tall is None
            else f"make them {rounded_up(tall * limit / width)} tall, or take a bolder font",
            width,
            limit,
            key="letters",
            keys=("letters", "tall", "outline"),
            place=place(laid.frames[0, :, 3]),
        )


def _stroke(laid: PlanSolid) -> float:
    """Mean width of a mark: twice its area over its whole edge, as of a long thin strip."""
    loops = trace_all(laid.figures[0], FINE)
    area = sum(signed_area(loop) for loop in loops)
    edge = sum(
        float(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum()) for loop in loops
    )
    return 2 * area / edge


RULE = Rule(
    "letters-too-fine",
    "Letters are too fine to print, cast and polish.",
    "plan",
    Level.WARNING,
    "Fine shallow lines fill with polish and wear away; fine raised ones do not fill in the "
    "mould and break off the pattern.",
    "Keep cut lines 0.3 mm wide and 0.5 mm deep, raised ones 0.35 mm wide and 0.3 mm high.",
    "GE gemwares.com (production notes page); raised: common practice, no source",
    _check,
)
