"""Letters and lines engraved or raised too fine or too shallow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place, rounded_down, rounded_up
from ..judging.marks import finest_mark, least_deep, stroke_width
from ..judging.rule import Level, Mend, Rule, Verdict
from ..judging.thicknesses import thick_under

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid

WALL = 2.5  # times their width: raised strokes higher than that are walls


def _check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.ENGRAVING):
        if call.get("by-hand") or piece.is_for(feature.index, Role.TEXTURE):
            continue
        side = "raised" if call.get("raised") else "cut"
        deep, high = call.get("deep"), "height" if side == "raised" else "depth"
        limit, found = least_deep(piece, feature.index), finest_mark(piece, feature.index)
        if deep is not None and below(deep, limit):
            thin = side == "cut" and _leaves_too_little(piece, feature.index, limit)
            yield Verdict(
                f"these letters or lines are of little {high}",
                feature.index,
                mm(deep),
                least(mm(limit)),
                "add 'by-hand': the metal is too thin to have them deeper from the mould" if thin
                else f"say 'deep {rounded_up(limit)}'",
                deep,
                limit,
                key="deep",
                keys=("deep",),
                place=place(feature.frames[0, :, 3]),
                level=Level.HINT,
                mend=None if thin else Mend("deep", rounded_up(limit), "least"),
            )
        if found is not None:
            yield from _strokes(piece, feature.index, side, *found)


def _leaves_too_little(piece: Piece, line: int, deep: float) -> bool:
    """Whether marks so deep leave the metal they are cut in too thin to cast."""
    thick = thick_under(piece, piece.call(line).get("in"))
    return thick is not None and below(thick - deep, piece.bound("thin-wall", "least", line))


def _strokes(piece: Piece, line: int, side: str, width: float, laid: PlanSolid) -> Iterator[Verdict]:
    """The thinnest stroke of one line of engraving, where it is ``width`` mm wide."""
    limit, deep = piece.bound("letters-too-fine", f"{side}-width", line), piece.call(line).get("deep")
    high = f", {mm(deep)} high" if side == "raised" and deep > WALL * width else ""
    if high:
        limit = piece.bound("letters-too-fine", "raised-wall", line)
    if below(width, limit):
        made = piece.features[line].look("tall")
        tall = None if made is None else made.value
        bolder = _bolder(piece, line, side, limit, tall)
        bolder += f", or say 'deep {rounded_down(WALL * width)}'" if high else ""
        yield Verdict(
            "the strokes of these letters or lines are fine" + (" for walls so high" if high else ""),
            line,
            f"{mm(width)} wide in the mean{high}",
            least(mm(limit)),
            f"make them taller, or {bolder}"
            if tall is None
            else f"make them {rounded_up(tall * limit / width)} tall, or {bolder}",
            width,
            limit,
            key="letters",
            keys=("letters", "tall", "outline"),
            place=place(laid.frames[0, :, 3]),
        )


def _bolder(piece: Piece, line: int, side: str, limit: float, tall: float | None) -> str:
    """What else keeps strokes from being lost than their size: nothing is broader than a heavy font."""
    call = piece.call(line)
    if tall is None:
        return "take a broader outline"
    if call.get("style") != "heavy" and not call.given("font") and not below(_heavy(call, tall), limit):
        return "say 'style heavy'"
    return "cut them instead of raising them" if side == "raised" else "add 'by-hand': a graver cuts finer"


def _heavy(call: Call, tall: float) -> float:
    """How wide the thinnest letter's strokes are in the broadest style, in the mean, mm."""
    from ..words.letters import set_text

    setting = set_text(call.get("letters"), tall, 0.0, "heavy")
    return min(stroke_width(("drawing", one.loops)) for one in setting.letters if one.loops)


RULE = Rule(
    "letters-too-fine",
    "Letters are too fine to print, cast and polish.",
    "plan",
    Level.WARNING,
    "Fine shallow lines fill with polish and wear away; fine raised ones do not fill in the "
    "mould and break off the pattern.",
    "Keep cut lines 0.3 mm wide and 0.2 mm deep or more, raised ones 0.35 mm wide and 0.3 mm high.",
    "GE gemwares.com (production notes page); depth, and raised: common practice, no source",
    _check,
)
