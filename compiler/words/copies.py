"""Copies of what is made: copy, mirror, wheel; and the records of the blocks of work."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ...lang.placing import GROUNDS
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines, Offer, Places
from ..bench.hung import HANGS_IN, hung, openings
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..geometry import frames as fr
from .common import count, metal

SIDES = {"left-right": 0, "up-down": 1, "front-back": 2}
AXES = {"right": 0, "up": 1, "out": 2}


def _again(bench: PieceBench, call: Call, frames: np.ndarray) -> Feature:
    """The metal and stones of `of`, as they are at this line, or its cuts, at each of the frames."""
    source: Feature = call.get("of")
    frames = fr.rounded(frames)
    made = bench.new_feature(call, frames)
    if not bench.repeat(made, source, frames):
        outside = bool(source.bodies())
        call.refuse(
            "no-metal",
            f"{source.name} is not made in this block" if outside
            else f"{source.name} has neither metal nor stones nor cuts to repeat",
            "of",
            remedy="write this line below the block, level with it: a casting copied is one of its own"
            if outside else "name a body, a row of stones, a cut or a workpiece",
        )  # fmt: skip
    made.offers = {name: _offered(source, name) for name in source.offers}
    made.low, made.high = source.low, source.high
    return made


def _offered(source: Feature, name: str) -> Offer:
    """The source's offer in the piece's own ground, so that the copy's frames carry it."""
    frames = source.frames

    def offer() -> object:
        value = source.offers[name]()
        return value.seen_from(frames) if isinstance(value, (Places, Lines)) else value

    return offer


def _copy(bench: PieceBench, call: Call) -> Feature:
    if call.given("hangs-in"):
        return _again(bench, call, hung(call, openings(call.get("of")), bench))
    base = _stands_at(bench, call.get("of")) if call.given("at") else None
    if base is not None:
        return _again(bench, call, fr.compose(placed(call), base))
    return _again(bench, call, _about_its_place(call, fr.identity()))


def _stands_at(bench: PieceBench, source: Feature) -> np.ndarray | None:
    """From the one place that the line of a part stands at (1, 3, 4), seen back from there, so that what it
    is moved and turned by holds at another too; None where it stands at none, or several."""
    line = bench.lines[source.index] if source.index >= 0 else None
    use = line if line is None else next(iter(line.within[-1:]), line)
    at = None if use is None or "at" not in use.arguments else use.arguments["at"].value
    return fr.inverse(at.frames[0])[None] if isinstance(at, Places) and len(at.frames) == 1 else None


def _mirror(bench: PieceBench, call: Call) -> Feature:
    return _again(bench, call, _about_its_place(call, fr.flipped(SIDES[call.get("swap")])))


def _about_its_place(call: Call, flip: np.ndarray) -> np.ndarray:
    """Frames of copies of `of`, first flipped by a (1, 3, 4) frame: moved from where that then stands
    and turned about its own place, the middle of all where it has several; or that place at the places
    the line gives."""
    stands = call.get("of").places()
    away = np.zeros(3)
    if stands is not None:
        spots = fr.compose(flip, stands.frames)[:, :, 3]
        away = (spots.min(axis=0) + spots.max(axis=0)) / 2
    there, back = (fr.shifted(*(sign * away)) for sign in (1.0, -1.0))
    frames = fr.compose(fr.compose(placed(call), back), flip)
    return frames if any(map(call.given, GROUNDS)) else fr.compose(there, frames)


def _wheel(bench: PieceBench, call: Call) -> Feature:
    total, step = call.get("times"), call.get("by")
    if total < 2:
        call.refuse(
            "too-few", "turning needs two or more in all", "times", seen=str(total), limit="2 or more",
        )
    frames = placed(call)
    step = 360.0 / total if step is None else step
    axis = AXES[call.get("about", "out")]
    turns = np.concatenate([fr.turned(axis, step * k) for k in range(1, total)])
    made = _again(bench, call, fr.compose(frames, turns))
    if len(frames) == 1:
        made.hub = fr.shifted(*frames[0, :, 3])
        made.first = call.get("of") if np.array_equal(frames, fr.identity()) else None
    return made


WORDS = (
    Word(
        "copy",
        "Another one of a part or workpiece, as it is at this line, or a cut again; a setting, and metal "
        "with seats in it, with their stones. Moved and turned from where the first stands, about that "
        "place; or at those that 'at' gives, as the first stands at its own.", "work",
        (Take("of", Kind.PART, "what is copied", needed=True), HANGS_IN),
        example="copy second: of leaf, right 8 mm", made_by=_copy,
    ),
    Word(
        "mirror",
        "The exact mirror image of a part, a cut or a workpiece, of a setting with its stones, beside the "
        "first, which stays; letters in it read backward.", "work",
        (
            Take("of", Kind.PART, "what is mirrored", needed=True),
            Take(
                "swap", Kind.CHOICE, "which sides change places", default="left-right", choices=tuple(SIDES),
            ),
        ),
        example="mirror far: of near, swap left-right", made_by=_mirror,
    ),
    Word(
        "wheel",
        "More of a part, a cut or a workpiece, of a setting with its stones, set round the middle of the "
        "piece as spokes stand in a wheel. Its top, face ... are those of the whole, the first counted.",
        "work",
        (
            Take("of", Kind.PART, "what is turned", needed=True),
            count("times", "how many in all, the first among them", needed=True, most=720),
            Take("by", Kind.ANGLE, "from one to the next"),
            Take("about", Kind.CHOICE, "the way the axis points", default="out", choices=tuple(AXES)),
        ),
        example="wheel petals: of petal, times 5", made_by=_wheel,
    ),
    Word(
        "workpiece", "Lines built by themselves, then soldered in; its cuts work on its own metal only.",
        "blocks", metal()[:2], example="workpiece wing: at ends of frame",
    ),
    Word(
        "casting", "A part cast by itself: it stands apart, with files, weight and a hang of its own.",
        "blocks", (*metal()[:1], HANGS_IN), example="casting stud: row 2, every 14 mm",
    ),
)
