"""What a printer and a caster can show: details, letters too fine or reading backward."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..judging.digits import below, least, mm, place, rounded_down, rounded_up
from ..judging.figures import figure, narrowest
from ..judging.marks import finest_mark, least_deep, stroke_width
from ..judging.rule import Level, Mend, Verdict
from ..judging.thicknesses import thick_under


def printer_detail(piece: Piece) -> Iterator[Verdict]:
    """Details finer than the printer makes."""
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
            f"write {key} {rounded_up(limit)}, or drill it after casting" if drilled
            else f"take wire of {rounded_up(limit)}",
            size,
            limit,
            key=key,
            keys=("wire", "across"),
            place=place(feature.frames[0, :, 3]),
        )


def letters_backward(piece: Piece) -> Iterator[Verdict]:
    """Letters that a mirror image turned round."""
    told = set()
    for solid in piece.plan_solids:
        letters = piece.call(solid.feature)
        if not letters.given("letters") or letters.get("reversed"):
            continue
        mirrors = (part for part in solid.parts if fr.mirrored(piece.features[part].frames).any())
        line = next(mirrors, solid.feature)
        backward = fr.mirrored(solid.frames)
        if not backward.any() or (line, solid.feature) in told:
            continue
        told.add((line, solid.feature))
        yield Verdict(
            f"the letters of {letters.name} read backward here",
            line,
            f'"{letters.get("letters")}" as in a mirror',
            "letters that read from left to right",
            "write copy in place of mirror; where left and right must differ, engrave each after mirroring",
            float(backward.sum()),
            0.0,
            place=place(solid.frames[backward][0, :, 3]),
        )

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid


WALL = 2.5  # times their width: raised strokes higher than that are walls


def letters_too_fine(piece: Piece) -> Iterator[Verdict]:
    """Letters and lines engraved or raised too fine or too shallow."""
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
