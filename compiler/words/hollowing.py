"""Work that removes metal from within: hollow."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ...lang.words import Word
from ..bench.feature import Feature, Lines, spot
from ..bench.feature import length as mm
from ..bench.opening import PAST
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..geometry.line import ring
from ..geometry.outlines import Outline, inset, trace
from .common import length, size, target
from .cutting import target_of

LEAST_RIM = 0.3  # mm of wall left outside a rebate: house choice, no source
LEAST_MOUTH = 1.0  # mm: a narrower way into a hollow from the finger lets no investment stand in it


def _hollow(bench: PieceBench, call: Call) -> Feature:
    feature, into = target_of(bench, call)
    outline = None if feature is None else feature.table[0] if feature.table else feature.outline
    if feature is None or outline is None:
        call.refuse(
            "not-hollowable", "hollow works on a bar, disc, plate or signet", "in",
            remedy="name one with 'in'; drill or pierce other bodies",
        )
    wall, roof, low = call.get("wall"), call.get("roof"), feature.low
    high = float(feature.look("height").value) if feature.table else feature.high - low
    _leaves_room(call, feature, outline, high)
    shape = Shape("prism", (inset(outline, wall), low - PAST, feature.high - roof))
    if feature.table:
        shape = Shape("table-hollow", (wall, roof, *feature.table))
    made = bench.new_feature(call, feature.frames)
    bench.cut(made, shape, feature.frames, into)
    if call.get("rebate") is not None:
        wide, deep = _rebate(call, feature, high)
        wall, low = wall - wide, low + deep
        step = Shape("prism", (inset(outline, wall), feature.low - PAST, low))
        bench.cut(made, step, feature.frames, into)
    made.offers = {
        "roof": lambda: spot(out=feature.high - roof, turn=fr.turned(1, 180.0)),
        "wall": lambda: mm(call.get("wall")),
        "depth": lambda: mm(high - roof),
    }
    if not feature.table:
        made.offers["ledge"] = lambda: Lines((ring(trace(inset(outline, wall)), low, -1.0),))
    return made


def _leaves_room(call: Call, feature: Feature, outline: Outline, high: float) -> None:
    """Raises Refused where a roof fills a body so high, or its walls leave nothing between them."""
    wall, roof = call.get("wall"), call.get("roof")
    if roof > high - 0.01:
        call.refuse(
            "roof-too-thick", f"a roof of {roof:g} mm fills {feature.name}, which is {high:g} mm high",
            "roof", seen=f"{roof:g} mm", limit=f"under {high:g} mm",
            remedy="make the roof thinner, or leave the line out",
        )
    narrow = float(np.ptp(trace(outline), axis=0).min())
    if feature.table:  # the mouth is as wide as the shank allows
        narrow = min(narrow, feature.table[3] - LEAST_MOUTH)
    if narrow <= 2 * wall + 0.01 or len(trace(inset(outline, wall))) < 3:
        call.refuse(
            "wall-too-thick", f"walls of {wall:g} mm leave nothing to hollow in {feature.name}", "wall",
            seen=f"{wall:g} mm", limit=f"under {narrow / 2:g} mm",
            remedy=f"write {narrow / 4:.2g} mm, or any wall that leaves a room between two",
        )


def _rebate(call: Call, feature: Feature, high: float) -> tuple[float, float]:
    """How wide and deep the step round the mouth is. Raises Refused where it finds no room."""
    wide, deep = call.get("rebate")
    wall, roof = call.get("wall"), call.get("roof")
    if feature.table:
        message = "a signet is open to the finger: nothing lies on a step there"
        call.refuse("clauses-disagree", message, "rebate", remedy="leave it out")
    if wide > wall - LEAST_RIM + 1e-9 or deep > high - roof:
        call.refuse(
            "wall-too-thick" if wide > wall - LEAST_RIM else "roof-too-thick",
            f"a rebate {wide:g} mm wide and {deep:g} mm deep finds no room in that wall", "rebate",
            seen=f"{wide:g} x {deep:g} mm", limit=f"{max(wall - LEAST_RIM, 0):.2f} x {high - roof:.2f} mm",
            remedy="make it narrower or shallower, or the wall thicker",
        )
    return wide, deep


WORDS = (
    Word(
        "hollow",
        "Hollows a bar, disc or plate from the back, a signet from the finger, leaving walls and a roof.",
        "work",
        (
            target("the body hollowed", needed=True),
            length("wall", "thickness left at the sides", needed=True, of=FigureOf.WALL),
            length("roof", "thickness left at the face", needed=True, of=FigureOf.ROOF),
            size(
                "rebate",
                "a step cut round its mouth into the wall, wide x deep: a photo and its glass lie on it, "
                "held by a rim of wire pressed in, as in a locket", 2,
            ),
        ),
        places=False, example="hollow back: in frame, wall 0.9 mm, roof 1 mm",
        offers={
            "roof": "the middle of the inner face, looking backward",
            "wall": "thickness left at the sides",
            "depth": "how deep it goes",
            "ledge": "the line round its mouth where a rim is pressed in: the wall of the rebate",
        },
        roles=frozenset({Role.CUT, Role.OPENS}), made_by=_hollow,
    ),
)
