"""Letters and outlines cut into metal or standing on it: engrave."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.along import LAID, ways
from ..bench.feature import Feature, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed, without
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.surfaces import Flat
from .borders import BORDER
from .common import length, metal
from .contour import CONTOUR, CONTOURS, EDGES_HELP, contour, edges
from .cutting import target_of
from .laid import follows_face, laid
from .mouths import IN, at_face
from .spared import CLEAR
from .strokes import GRAVERS, stroke, stroke_takes_its_line
from .text_run import ABOVE, TEXT_RUN, Mark, faced, text_run

UP, BACK = 0.9, 0.01  # the least cosine to the way up; mm, a path that lies no higher lies at the back
BY_HAND_DEEP = 0.2  # mm, as a graver cuts letters; common practice, no source


def _engrave(bench: PieceBench, call: Call) -> Feature:
    if call.get("by-hand") and not call.given("deep"):
        deep = replace(call.arguments["deep"], value=BY_HAND_DEEP)
        call = replace(call, arguments={**call.arguments, "deep": deep})
    raised = bool(call.get("raised"))
    if raised and not call.given("in") and not bench.has_metal():
        call.refuse(
            "no-metal", "there is no metal above this line for it to stand on", "raised",
            remedy='write the face first; letters by themselves are a plate: letters "K", tall 16 mm, '
            "thick 1.5 mm",
        )
    part, into = target_of(bench, call, raised=False)
    if call.given("along") and part is not None:
        call = _at_the_face(call, part)
    if call.given("letters"):
        made = _lettered(bench, call, raised, into)
    elif call.given("stroke"):
        stroke_takes_its_line(call)
        made = stroke(bench, call, into)
    else:
        outline = contour(bench, call)
        frames = faced(call, placed(call))
        if not raised:
            frames = at_face(call, frames, ABOVE)
        made = bench.new_feature(call, frames)
        _work(bench, call, made, [(outline, fr.identity())], frames, raised, into)
        if not follows_face(call, [(outline, fr.identity())]):
            made.offers |= edges(outline, made.high, None if raised else made.low)
    if raised and part is not None:
        part.raised.append(made)
    if call.given("filled"):
        bench.fill(made, into, call.get("filled"))
    return made


def _at_the_face(call: Call, part: Feature) -> Call:
    """The line, of a path drawn on the ground of a flat part it looks up into raised to the face of that;
    Raises Refused where the line says how far out it lies."""
    if not isinstance(part.surface, Flat) or len(part.frames) != 1 or part.ground is not None:
        return call
    home = fr.compose(fr.inverse(part.frames[0])[None], placed(without(call, *LAID)))[0]
    lines = ways(call)
    high = max(float((fr.apply(home, line.points)[:, 2]).max()) for line in lines)
    looks = min(float((line.outs @ home[:, :3].T)[:, 2].min()) for line in lines)
    if looks < UP or high > part.low + BACK or part.high - part.low < BACK:
        return call
    if call.given("out") or call.given("inward") or part.frames[0, 2, 2] < UP:
        call.refuse(
            "off-the-face", f"this path lies on the back of {part.name}, and looks up into it", "along",
            remedy=f"add 'out {part.high - high:g} mm': there it lies on its face; or take a path of that, "
            "as its rim",
        )
    raised = replace(call.arguments["along"], value=part.high - high)
    return replace(call, arguments={**call.arguments, "out": raised})


def _lettered(bench: PieceBench, call: Call, raised: bool, into: tuple[int, ...] | None) -> Feature:
    setting, marks, frames = text_run(bench, call)
    if not raised:
        frames = at_face(call, frames, ABOVE)
    made = bench.new_feature(call, frames)
    _work(bench, call, made, marks, frames, raised, into)
    made.offers |= {"wide": lambda: mm(setting.wide), "tall": lambda: mm(setting.tall)}
    return made


def _work(
    bench: PieceBench, call: Call, made: Any, marks: list[Mark], frames: np.ndarray, raised: bool,
    into: tuple[int, ...] | None,
) -> None:
    """Cut the marks, or stand them on the metal."""
    deep = call.get("deep")
    made.offers["deep"] = lambda: mm(deep)
    bounds = (-call.get("root"), deep) if raised else (-deep, ABOVE)
    made.low, made.high = bounds if raised else (-deep, 0.0)
    if not raised:
        made.offers["floor"] = lambda: spot(out=-deep)
    along_face = follows_face(call, marks)
    for outline, home in marks:
        shape = laid(call, outline, home, *bounds) if along_face else Shape("prism", (outline, *bounds))
        places = fr.identity() if along_face else fr.rounded(fr.compose(frames, home))
        if raised:
            bench.add(made, shape, places, call.get("metal"))
        else:
            bench.cut(made, shape, places, into)


WORDS = (
    Word(
        "engrave",
        "Letters, an outline, a drawing, strokes or a border of them cut into a face, or standing on it "
        "with 'raised'. What stands 'on' a curved face goes along it, as deep all over.", "work",
        (
            Take(
                "letters", Kind.TEXT,
                "a text, on one line; 'along' a path the middle of its capitals runs on that",
                not_with=("fit", "number"),
            ),
            *CONTOUR,
            length("deep", "how deep it is cut, or how far it stands up", default="0.5 mm", most=20.0),
            Take(
                "reversed", Kind.FLAG, "mirrored, as a seal is cut: its print in wax reads right",
                not_with=("along",),
            ),
            Take("raised", Kind.FLAG, "stands on the metal instead"),
            Take(
                "by-hand", Kind.FLAG,
                "cut by hand after casting, 0.2 mm deep: not in the mould, told on the sheets and drawn "
                "with --finished", not_with=("raised",),
            ),
            length(
                "root", "of raised work: how far it reaches into the metal below", default="0.2 mm", most=5.0,
                goes_with=("raised",),
            ),
            *TEXT_RUN,
            length("stroke", "a graver's stroke of this width 'along' a path, running out at open ends"),
            Take(
                "cut", Kind.CHOICE,
                "section of a stroke: a vee, round as from a scorper, or flat; flat by itself where it is "
                "filled", default="vee", choices=GRAVERS, goes_with=("stroke",),
            ),
            *BORDER,
            *CLEAR,
            IN,
            replace(
                metal()[0], name="filled", not_with=("raised", "by-hand"),
                help="let in: what is cut is filled with this alloy, level with the face, as a stripe",
            ),
            *(replace(take, goes_with=("raised",)) for take in metal()[:2]),
        ),
        one_of=(("letters", "stroke", *CONTOURS),),
        example='engrave name: letters "ADA", tall 4 mm, at face of medal, in medal',
        offers={
            "wide": "length of the text",
            "tall": "height of its capitals",
            "deep": "how deep",
            "floor": "the bottom of what is cut, but for strokes",
            **EDGES_HELP,
        },
        roles=frozenset({Role.CUT, Role.OPENS, Role.ENGRAVING}), made_by=_engrave,
    ),
)
