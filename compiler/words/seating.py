"""Work behind and below stones: seats, and light holes opened behind them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ...stdlib.cuts import CUTS
from ..bench.feature import Feature, Places, spot
from ..bench.feature import length as mm
from ..bench.opening import LEAST_CONE, PAST, RISING, opened
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import Role
from ..bench.stone_kind import StoneKind
from ..geometry import frames as fr
from .common import length, target
from .cutting import target_of


def _azure(bench: PieceBench, call: Call) -> Feature:
    """Behind each stone the light hole opened to a cone, wide at the back."""
    stones: Feature = call.get("for")
    _, into = target_of(bench, call)
    if call.get("narrow") > call.get("wide"):
        call.refuse(
            "hole-widens", "an azure opens toward the back", "narrow",
            seen=f"{100 * call.get('narrow'):.3g} %",
            limit=f"{100 * call.get('wide'):.3g} %, its width at the back",
            remedy="make narrow smaller or wide larger",
        )
    deep = call.get("deep")
    if deep is not None and deep <= LEAST_CONE:
        call.refuse(
            "no-depth", f"a cone {deep:g} mm deep opens nothing", "deep", seen=f"{deep:g} mm",
            limit=f"over {LEAST_CONE:g} mm",
            remedy="leave 'deep' out: the cone then goes to the back of the metal",
        )
    made = bench.new_feature(call, stones.frames)
    for setting, frames in _kinds(stones):
        start = call.get("from", setting.pavilion())
        narrow, wide = call.get("narrow") * setting.width, call.get("wide") * setting.width
        shape = Shape("azure", (narrow, wide, start, None))
        if deep is not None:
            shape = opened(shape, deep, deep + 2 * PAST)
        bench.cut(made, shape, frames, into)
    widest = max(stones.stones, key=lambda setting: setting.width).width
    made.offers = {
        "wide": lambda: mm(call.get("wide") * widest),
        "narrow": lambda: mm(call.get("narrow") * widest),
    }
    return made


def _seat(bench: PieceBench, call: Call) -> Feature:
    stones: Feature = call.get("for")
    _, into = target_of(bench, call)
    clearance, hole = call.get("clearance"), call.get("hole")
    made = bench.new_feature(call, stones.frames)
    for setting, frames in _kinds(stones):
        rise = max(call.get("mouth", 0.0), setting.crown() - setting.girdle() / 2) + PAST + setting.width / 4
        rise = max(rise, setting.crown() + PAST)  # a flat stone is all girdle
        deep = call.get("deep") if hole > 0 else clearance
        shape = Shape("seat", (setting.figures, clearance, hole, rise, _mouth(call, setting), deep))
        bench.cut(made, shape, frames, into)
    made.stones, made.which = stones.stones, stones.which
    widest = max(stones.stones, key=lambda setting: setting.width)
    depth = widest.pavilion() + widest.girdle() / 2
    made.offers = {
        "for": lambda: stones,
        "floor": lambda: spot(out=-depth),
        "hole": lambda: mm(hole * widest.width),
        "clearance": lambda: mm(clearance),
        "centres": lambda: Places(fr.identity()),
    }
    return made


def _mouth(call: Call, setting: StoneKind) -> float | str | None:
    """How far above the girdle plane the way in ends below the table; None where it goes past it, RISING up
    to the air where the line does not say how far."""
    mouth = call.get("mouth")
    if mouth is None:
        return RISING
    if mouth >= setting.crown() - setting.girdle() / 2:
        return None
    if not CUTS[setting.form].turned(setting.length, setting.width):
        call.refuse(
            "groove-round", "a groove that follows the crown is turned, for a round stone", "mouth",
            seen=str(setting.figures[0]), limit="a round stone",
            remedy=f"leave 'mouth' out, or write mouth {setting.crown():.2f} mm",
        )
    return max(mouth, setting.girdle() / 2)


def _kinds(stones: Feature) -> Iterator[tuple[StoneKind, np.ndarray]]:
    """Each cut and size of stone of a line, with where its stones stand."""
    alike = {kind.figures: kind for kind in reversed(stones.stones)}
    forms = [stones.kind(k).figures for k in range(len(stones.frames))]
    for figures in dict.fromkeys(forms):
        yield alike[figures], stones.frames[[k for k, form in enumerate(forms) if form == figures]]


WORDS = (
    Word(
        "azure", "Opens the light hole behind each stone to a cone, widest where the metal ends.", "settings",
        (
            Take("for", Kind.STONES, "the stones it lets light to", needed=True),
            target(),
            Take(
                "narrow", Kind.PERCENT, "its width near the stone, in per cent of the stone's",
                default="50 %", least=0.05, most=1.0,
            ),
            Take(
                "wide", Kind.PERCENT, "its width at the back, in per cent of the stone's", default="80 %",
                least=0.05, most=1.5,
            ),
            length("from", "how far below the girdle it begins"),
            length("deep", "how far below the girdle it is at its widest"),
        ),
        places=False, example="azure light: for garnets, in frame",
        offers={"wide": "its width at the back", "narrow": "its width near the stone"},
        roles=frozenset({Role.LIGHT_HOLE}), made_by=_azure,
    ),
    Word(
        "seat",
        "Cuts the seat of each stone: straight in from above, then a bearing that follows the pavilion, "
        "'clearance' wider than the stone all the way down to the light hole. A round stone's is turned: it "
        "takes the straights between the widest points at each height.", "settings",
        (
            Take("for", Kind.STONES, "the stones that sit in it", needed=True),
            target(),
            length(
                "clearance", "room all round, so that a stone of the nominal size drops in",
                default="0.04 mm", zero=True, most=0.5,
            ),
            Take(
                "hole", Kind.PERCENT, "light hole, in per cent of the stone's width; 0 % closes it below",
                default="55 %", least=0.0, most=0.95,
            ),
            length("deep", "how deep the light hole goes below the girdle"),
            length(
                "mouth",
                "how far above the girdle the way in is cut straight; less than the crown leaves a groove "
                "that follows it, as for a stone held by tension", zero=True,
            ),
        ),
        places=False, example="seat: for garnets, in frame",
        offers={
            "for": "the stones",
            "floor": "below each culet",
            "hole": "width of the light hole",
            "clearance": "room all round",
            "centres": "the middle of each stone",
        },
        roles=frozenset({Role.SEAT}), made_by=_seat,
    ),
)
