"""Letters and outlines cut into metal or standing on it: engrave."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines
from ..bench.feature import length as mm
from ..bench.placement import COPIES_LIMIT, placed
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.outlines import Outline
from .common import length, metal, target
from .contour import CONTOUR, CONTOURS, contour
from .cutting import target_of
from .letter_fit import tall_within
from .lettering import FONT, LETTERS, TALL, typeset
from .letters import Typesetting
from .strokes import GRAVERS, stroke, stroke_takes_its_line

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

# How far a graver's tool stands above the metal: the face may be domed or go round a finger.
ABOVE = 0.6
BY_HAND_DEEP = 0.2  # mm, as a graver cuts letters; common practice, no source
MIDDLES = {"left": 0.0, "middle": 0.5, "right": 1.0}

# What is cut: its outline and where it stands within each place (1, 3, 4).
Mark = tuple[Outline, np.ndarray]


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
    _, into = target_of(bench, call)
    if call.given("letters"):
        made = _lettered(bench, call, _setting(bench, call), raised, into)
    elif call.given("stroke"):
        stroke_takes_its_line(call)
        made = stroke(bench, call, into)
    else:
        outline = contour(bench, call)
        frames = _faced(call, placed(call))
        made = bench.new_feature(call, frames)
        _work(bench, call, made, [(outline, fr.identity())], frames, raised, into)
    if call.given("filled"):
        bench.fill(made, into, call.get("filled"))
    return made


def _faced(call: Call, frames: np.ndarray) -> np.ndarray:
    """The frames, or their mirror images for a seal. Letters read from left to right where a place is
    itself a mirror image, as the left end of a bar."""
    if call.given("letters"):
        turned = np.linalg.det(frames[:, :, :3]) < 0
        frames = np.where(turned[:, None, None], fr.compose(frames, fr.flipped(0)), frames)
    return fr.compose(frames, fr.flipped(0)) if call.get("reversed") else frames


def _setting(bench: PieceBench, call: Call) -> Typesetting:
    tall, spacing = call.get("tall"), call.get("spacing", 0.0)
    if call.given("within"):
        one = typeset(bench, call, 1.0, 0.0)
        tall = tall_within(call, one, _straight(call, one), _faced(call, placed(call))[:1])
    return typeset(bench, call, tall, spacing)


def _lettered(
    bench: PieceBench, call: Call, setting: Typesetting, raised: bool, into: tuple[int, ...] | None
) -> Feature:
    if call.given("along"):
        spots, frames = _along(call, setting), fr.identity()
    else:
        spots, frames = _straight(call, setting), _faced(call, placed(call))
    marks = [
        (("drawing", letter.loops), spots[k : k + 1])
        for k, letter in enumerate(setting.letters)
        if letter.loops
    ]
    total = len(marks) * len(frames)
    if total > COPIES_LIMIT:
        call.refuse(
            "too-many-copies",
            f"{call.name} would have {total} letters",
            "letters",
            seen=str(total),
            limit=str(COPIES_LIMIT),
            remedy="make fewer",
        )
    made = bench.new_feature(call, frames)
    bench.tally(total)
    _work(bench, call, made, marks, frames, raised, into)
    made.offers |= {"wide": lambda: mm(setting.wide), "tall": lambda: mm(setting.tall)}
    return made


def _straight(call: Call, setting: Typesetting) -> np.ndarray:
    """Frames of the letters' baselines, the capitals' middle on the place."""
    share = MIDDLES[call.get("align")]
    frames = fr.identity(len(setting.letters))
    frames[:, 0, 3] = [letter.middle - share * setting.wide for letter in setting.letters]
    frames[:, 1, 3] = -setting.tall / 2
    return frames


def _along(call: Call, setting: Typesetting) -> np.ndarray:
    lines: Lines = call.get("along")
    line: Line | None = lines.lines[0].inset(call.get("inset", 0.0))
    total = 0.0 if line is None else line.length()
    if line is None or setting.wide > total:
        call.refuse(
            "text-too-long",
            f"the letters are {setting.wide:.3g} mm long, the path is {total:.3g} mm",
            "letters",
            seen=f"{setting.wide:.3g} mm",
            limit=f"{total:.3g} mm",
            remedy="make them less tall, or take a longer path",
        )
    over = bool(call.get("heads-out"))
    first = call.get("centred", 0.0 if line.closed else 0.5) * total
    middles = np.array([letter.middle for letter in setting.letters])
    share = MIDDLES[call.get("align")] if call.given("align") or line.closed else 0.5
    offset = middles - share * setting.wide
    distance = first + (-offset if over else offset)
    if line.closed:
        distance = distance % total
    elif distance.min() < -1e-9 or distance.max() > total + 1e-9:
        call.refuse(
            "text-too-long",
            "the letters run past the end of the path",
            "letters",
            remedy="change 'centred' or 'align'",
        )
    frames = line.frames_at(distance)
    if over:
        frames = fr.compose(frames, fr.turned(2, 180.0))
    return fr.compose(frames, fr.shifted(up=-setting.tall / 2))


def _work(
    bench: PieceBench,
    call: Call,
    made: Any,
    marks: list[Mark],
    frames: np.ndarray,
    raised: bool,
    into: tuple[int, ...] | None,
) -> None:
    """Cut the marks, or stand them on the metal."""
    deep = call.get("deep")
    made.offers["deep"] = lambda: mm(deep)
    bounds = (-call.get("root"), deep) if raised else (-deep, ABOVE)
    made.low, made.high = bounds if raised else (-deep, 0.0)
    for outline, spot in marks:
        shape = Shape("prism", (outline, *bounds))
        places = fr.rounded(fr.compose(frames, spot))
        if raised:
            bench.add(made, shape, places, call.get("metal"))
        else:
            bench.cut(made, shape, places, into)


WORDS = (
    Word(
        "engrave",
        "Letters, an outline or a drawing cut into a face, or standing on it with 'raised'.",
        "work",
        (
            Take(
                "letters",
                Kind.TEXT,
                "a text, on one line",
                not_with=("fit", "number"),
            ),
            *CONTOUR,
            length(
                "deep",
                "how deep it is cut, or how far it stands up",
                default="0.5 mm",
                most=20.0,
            ),
            Take(
                "reversed",
                Kind.FLAG,
                "mirrored, as a seal is cut: its print in wax reads right",
                not_with=("along",),
            ),
            Take("raised", Kind.FLAG, "stands on the metal instead"),
            Take(
                "by-hand",
                Kind.FLAG,
                "cut by hand after casting, 0.2 mm deep: not in the mould, told on the sheets and drawn with "
                "--finished",
                not_with=("raised",),
            ),
            length(
                "root",
                "of raised work: how far it reaches into the metal below",
                default="0.2 mm",
                most=5.0,
                goes_with=("raised",),
            ),
            TALL,
            Take(
                "within",
                Kind.PATH,
                "of letters: a closed path, as the rim of their face; they are made as tall as fits in it",
                goes_with=LETTERS,
                not_with=("tall", "spacing", "along"),
            ),
            length("margin", "how far from that path they stay", zero=True, goes_with=("within",)),
            length(
                "spacing", "of letters: more room between them", zero=True, most=20.0, goes_with=LETTERS
            ),
            *FONT,
            Take(
                "align",
                Kind.CHOICE,
                "which part of the text stands on its place",
                default="middle",
                choices=tuple(MIDDLES),
                goes_with=LETTERS,
            ),
            Take(
                "centred",
                Kind.PERCENT,
                "where on a path the middle of the text comes: 0 % the start, 50 % half way; usual "
                "50 %, on a closed path 0 %",
                least=0.0,
                most=1.0,
                goes_with=("along",),
            ),
            Take(
                "heads-out",
                Kind.FLAG,
                "along a path the letters stand with their heads to its outer "
                "side, as over the top of a coin",
                goes_with=("along",),
            ),
            length("stroke", "a graver's stroke of this width 'along' a path, running out at open ends"),
            Take(
                "cut",
                Kind.CHOICE,
                "section of a stroke: a vee, round as from a scorper, or flat",
                default="vee",
                choices=GRAVERS,
                goes_with=("stroke",),
            ),
            target(),
            replace(
                metal()[0], name="filled", not_with=("raised", "by-hand"),
                help="let in: what is cut is filled with this alloy, level with the face, as a stripe",
            ),
            *(replace(take, goes_with=("raised",)) for take in metal()),
        ),
        one_of=(("letters", "stroke", *CONTOURS),),
        example='engrave name: letters "ADA", tall 4 mm, at face of medal, in medal',
        offers={
            "wide": "length of the text",
            "tall": "height of its capitals",
            "deep": "how deep",
        },
        roles=frozenset({Role.CUT, Role.OPENS, Role.ENGRAVING}),
        made_by=_engrave,
    ),
)
