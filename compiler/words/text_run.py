"""A text as it stands in the metal: one letter after another on a straight line, or along a path."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NoReturn

import numpy as np

from ...lang.bench import Call, Refused
from ...lang.values import Quantity
from ...lang.words import Kind, Take
from ..bench.along import LAID, ways
from ..bench.feature import Feature, Places
from ..bench.path import flat_sides
from ..bench.patterns import COPIES_LIMIT
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed, without
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.outlines import Outline
from .common import length
from .letter_fit import tall_on_face, tall_within
from .letter_gaps import bar_for, bridged, eased, part_way, spaced
from .lettering import FONT, LETTERS, SPACING, TALL, typeset
from .letters import Typesetting

# How far a tool stands above the metal: the face may be domed or go round a finger.
ABOVE = 0.6
ROUNDS, LEAST_MOVE = 4, 0.02  # times letters on a bend are moved apart, while they still move so far, mm
SHARES = 1.0, 0.8, 0.6, 0.4, 0.2  # of that way, the most there is room for
MIDDLES = {"left": 0.0, "middle": 0.5, "right": 1.0}

# What is cut: its outline and where it stands within each place (1, 3, 4).
Mark = tuple[Outline, np.ndarray]

TEXT_RUN: tuple[Take, ...] = (
    TALL,
    Take(
        "within", Kind.PATH,
        "of letters: a closed path, as the rim of their face; they are made as tall as fits in it",
        goes_with=LETTERS, not_with=("tall", "spacing", "along"),
    ),
    length("margin", "how far from that path they stay", zero=True, goes_with=("within",)),
    SPACING,
    *FONT,
    length(
        "bridge", "of letters cut right through: a bar so wide is left up and down to what stands inside an "
        "O, D or A, so that it does not fall out", goes_with=LETTERS, zero=True,
    ),
    Take(
        "align", Kind.CHOICE, "which part of the text stands on its place", default="middle",
        choices=tuple(MIDDLES), goes_with=LETTERS,
    ),
    Take(
        "centred", Kind.ANY,
        "where on a path the middle of the text comes: 0 % the start, 50 % half way, or a place it comes "
        "nearest to; usual 50 %, on a closed path its bottom, or its top where the heads are out, within a "
        "ring its palm", goes_with=("along",), like="50 %",
    ),
    Take(
        "heads-out", Kind.FLAG,
        "along a path the letters stand with their heads to its outer side, as over the top of a coin",
        goes_with=("along",),
    ),
)  # fmt: skip
# Of sawn letters the strokes are of one width, unless a line says otherwise.
SAWN_RUN = tuple(replace(take, default="block") if take.name == "style" else take for take in TEXT_RUN)


def text_run(bench: PieceBench, call: Call) -> tuple[Typesetting, list[Mark], np.ndarray]:
    """The letters of a line: how they are set, each with its spot, and the places (n, 3, 4) of the whole."""
    setting = _setting(bench, call)
    if call.given("along") and not (call.given("fit") or call.given("number")):
        (setting, spots), frames = _along(call, setting), placed(without(call, *LAID))
    else:
        spots, frames = _straight(call, setting), faced(call, placed(call))
    bar = call.get("bridge", bar_for(setting.tall) if _is_sawn(call) else 0.0)
    marks = [
        (("drawing", bridged(letter.loops, bar)), spots[k : k + 1])
        for k, letter in enumerate(setting.letters)
        if letter.loops
    ]
    total = len(marks) * len(frames)
    if total > COPIES_LIMIT:
        call.refuse(
            "too-many-copies", f"{call.name} would have {total} letters", "letters", seen=str(total),
            limit=str(COPIES_LIMIT), remedy="make fewer",
        )  # fmt: skip
    bench.tally(total)
    return setting, marks, frames


def faced(call: Call, frames: np.ndarray) -> np.ndarray:
    """The frames, or their mirror images for a seal. Letters read from left to right where a place is
    itself a mirror image, as the left end of a bar."""
    if call.given("letters"):
        turned = fr.mirrored(frames)
        frames = np.where(turned[:, None, None], fr.compose(frames, fr.flipped(0)), frames)
    return fr.compose(frames, fr.flipped(0)) if call.get("reversed") else frames


def _is_sawn(call: Call) -> bool:
    """Whether letters are cut right through: metal has to stand between them and hold their insides."""
    return Role.ENGRAVING not in call.roles and not call.get("deep")


def _setting(bench: PieceBench, call: Call) -> Typesetting:
    def at(tall: float) -> Typesetting:
        made = typeset(bench, call, tall, call.get("spacing", 0.0))
        if not _is_sawn(call) or call.given("spacing"):
            return made
        wider = spaced(made)
        return made if call.given("along") and wider.wide > ways(call)[0].length() else wider

    def stood(tall: float) -> tuple[Typesetting, np.ndarray]:
        return (made := at(tall)), _straight(call, made)

    if call.given("tall") or call.given("along"):
        return at(call.get("tall"))
    place = faced(call, placed(call))[:1]
    if call.given("within"):
        return at(tall_within(call, stood, place))
    return at(tall_on_face(call, stood, place) or call.get("tall"))


def _straight(call: Call, setting: Typesetting) -> np.ndarray:
    """Frames of the letters' baselines, the capitals' middle on the place."""
    share = MIDDLES[call.get("align")]
    frames = fr.identity(len(setting.letters))
    frames[:, 0, 3] = [letter.middle - share * setting.wide for letter in setting.letters]
    frames[:, 1, 3] = -setting.tall / 2
    return frames


def _along(call: Call, setting: Typesetting) -> tuple[Typesetting, np.ndarray]:
    """The text as it is set along a path, and the frames of its letters' baselines."""
    stood, straight = _stood_along(call, setting), setting
    for _ in range(0 if call.given("spacing") else ROUNDS):  # moved they stand in other bends
        wider = eased(setting, stood, straight)
        if wider.wide - setting.wide < LEAST_MOVE:
            break
        for share in SHARES:
            try:
                moved = part_way(setting, wider, share)
                setting, stood = moved, _stood_along(call, moved)
                break
            except Refused:  # there is no room to move them so far apart
                continue
        else:
            break
    return setting, stood


def _stood_along(call: Call, setting: Typesetting) -> np.ndarray:
    line = ways(call)[0]
    total = line.length()
    if setting.wide > total:
        _too_long(call, setting, total, f"the path is {total:.3g} mm")
    over = bool(call.get("heads-out"))
    first = middle_share(call, line) * total
    middles = np.array([letter.middle for letter in setting.letters])
    share = MIDDLES[call.get("align")] if call.given("align") or line.closed else 0.5
    offset = middles - share * setting.wide
    distance = first + (-offset if over else offset)
    if line.closed:
        distance = distance % total
    elif distance.min() < -1e-9 or distance.max() > total + 1e-9:
        before, after = first / max(share, 1e-9), (total - first) / max(1 - share, 1e-9)
        room = min(before, after)
        _too_long(call, setting, room, f"there they have {room:.3g} mm to the end of the path")
    frames = line.frames_at(distance)
    if over:
        frames = fr.compose(frames, fr.turned(2, 180.0))
    return fr.compose(frames, fr.shifted(up=-setting.tall / 2))


def _looks_in(line: Line) -> bool:
    """Whether a line's face looks to the middle of what it goes round, as that of a path inside a ring."""
    go = line.points.mean(axis=0) - line.points
    return bool((go * line.outs).sum() > 0.5 * np.linalg.norm(go, axis=1).sum())


def middle_share(call: Call, line: Line) -> float:
    """The share of a line at which the middle of its text comes."""
    value = call.get("centred")
    if value is None and line.closed:  # one that lies flat; round a finger its head, within a ring its palm
        flat = flat_sides(line).get("top" if call.get("heads-out") else "bottom")
        value = flat() if flat else Quantity(0.5 if _looks_in(line) else 0.0, share=True)
    if value is None:
        return 0.5
    if isinstance(value, Feature):
        value = Places(value.frames)
    if isinstance(value, Places) and len(value):
        return line.share_at(value.frames[0, :, 3])
    if isinstance(value, Quantity) and (value.share or not value.value) and 0 <= value.value <= 1:
        return float(value.value)
    call.refuse(
        "wrong-kind", "centred is a share of the path from 0 % to 100 %, or a place beside it", "centred",
        remedy="as in: centred 50 %",
    )


def _too_long(call: Call, setting: Typesetting, room: float, there: str) -> NoReturn:
    """Refuse a text for which a path has only ``room`` mm."""
    between = call.get("spacing", 0.0) * (len(setting.letters) - 1)
    share = (room - between) / (setting.wide - between) if setting.wide > between else 0.0
    tall = math.floor(setting.tall * share * 100) / 100
    fits = f"'tall {tall:g} mm' fits: " if tall > 0 else ""
    call.refuse(
        "text-too-long", f"the letters are {setting.wide:.3g} mm long, {there}", "letters",
        seen=f"{setting.wide:.4g} mm", limit=f"{room:.4g} mm",
        remedy=f"{fits}make them so, or take a longer path" if fits else
        "take a longer path, or change 'centred' or 'align'",
    )  # fmt: skip
