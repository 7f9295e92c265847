"""What a printer and a caster can show: details, letters too fine or reading backward."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..judging.digits import below, mm, rounded_down, rounded_up
from ..judging.figure_rule import Reading
from ..judging.figures import figure, narrowest
from ..judging.letter_room import closest_letters
from ..judging.marks import finest_mark, least_deep, stroke_width
from ..judging.thicknesses import thick_under
from ..words.lettering import bold_for

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid

PLAY = 0.02  # mm, more than what is wanted: for letters askew to one another
SHORT = 1.25  # times as much bolder: the mean width of a mark gains less than its strokes do


def printer_detail(piece: Piece) -> Iterator[Reading]:
    """Details finer than the printer makes."""
    for feature, call in piece.with_role(Role.WIRE, Role.HOLE):
        drilled = piece.is_for(feature.index, Role.HOLE)
        section = ("across", call.get("across")) if drilled else figure(call, FigureOf.SECTION)
        if section is not None:
            yield Reading(
                feature.index, narrowest(section[1]), feature, find="hole" if drilled else "",
                words={"key": section[0]}, key=section[0],
            )  # fmt: skip


def letters_backward(piece: Piece) -> Iterator[Reading]:
    """Letters that a mirror image turned round."""
    for solid in piece.plan_solids:
        letters = piece.call(solid.feature)
        if not letters.given("letters") or letters.get("reversed"):
            continue
        mirrors = (part for part in solid.parts if fr.mirrored(piece.features[part].frames).any())
        line = next(mirrors, solid.feature)
        backward = fr.mirrored(solid.frames)
        if backward.any():
            yield Reading(
                line, float(backward.sum()), solid.frames[backward][0, :, 3], once=(line, solid.feature),
                words={"letters": letters.name, "text": letters.get("letters")},
            )  # fmt: skip


WALL = 2.5  # times their width: raised strokes higher than that are walls


def letters_too_fine(piece: Piece) -> Iterator[Reading]:
    """Letters and lines engraved or raised too fine or too shallow."""
    for feature, call in piece.with_role(Role.ENGRAVING):
        if call.get("by-hand") or piece.is_for(feature.index, Role.TEXTURE):
            continue
        side = "raised" if call.get("raised") else "cut"
        found, deep = finest_mark(piece, feature.index), call.get("deep")
        if deep is not None:
            limit = least_deep(piece, feature.index)
            thick = thick_under(piece, call.get("in")) if side == "cut" else None
            thin = thick is not None and below(thick - limit, piece.bound("thin-wall", "least", feature))
            by_hand = "add 'by-hand': the metal is too thin to have them deeper from the mould"
            yield Reading(
                feature.index, deep, feature, find="shallow", bound=limit,
                words={"high": "height" if side == "raised" else "depth"}, cure=by_hand if thin else None,
            )  # fmt: skip
        if found is not None:
            yield from _strokes(piece, feature.index, side, *found)
        if call.given("letters") and (close := closest_letters(piece, feature.index)):
            yield Reading(
                feature.index, *close, find="crowded", cure=partial(_spaced, call, close[0]),
                words={"what": "between them: a slot" if side == "raised" else "between them: a ridge"},
            )  # fmt: skip


def _spaced(call: Call, apart: float, limit: float) -> str:
    """What moves letters ``apart`` mm from one another as far apart as the limit."""
    if call.given("along") and not call.given("spacing"):
        return "make them less tall: then their path has room to move them apart; or take a longer path"
    return f"say 'spacing {rounded_up(call.get('spacing', 0.0) + limit - apart + PLAY)}'"


def _strokes(piece: Piece, line: int, side: str, width: float, laid: PlanSolid) -> Iterator[Reading]:
    """The thinnest stroke of one line of engraving, where it is ``width`` mm wide."""
    limit, deep = piece.bound("letters-too-fine", f"{side}-width", line), piece.call(line).get("deep")
    high = f", {mm(deep)} high" if side == "raised" and deep > WALL * width else ""
    if high:
        limit = piece.bound("letters-too-fine", "raised-wall", line)
    made = piece.features[line].look("tall")
    tall = None if made is None else made.value
    yield Reading(
        line, width, laid, bound=limit, words={"high": high, "walls": " for walls so high" if high else ""},
        cure=partial(_taller, piece, line, side, width, tall, bool(high)),
    )  # fmt: skip


def _taller(
    piece: Piece, line: int, side: str, width: float, tall: float | None, high: bool, limit: float
) -> str:
    """What makes strokes ``width`` mm wide as wide as the limit, or does without."""
    bolder = _bolder(piece, line, side, limit, tall)
    bolder += f", or say 'deep {rounded_down(WALL * width)}'" if high else ""
    if tall is None:
        return f"make them taller, or {bolder}"
    more = rounded_up(SHORT * bold_for(piece.call(line), tall, width, limit))
    return f"say 'bolder {more}', or make them {rounded_up(tall * limit / width)} tall, or {bolder}"


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
