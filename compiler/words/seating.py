"""Work behind and below stones: seats, and light holes opened behind them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Places, spot
from ..bench.feature import length as mm
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from .common import Made, length, target
from .cutting import PAST, cone, target_of

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench
    from ..bench.stone_kind import StoneKind


# How far a light hole passes the back of the metal, mm.
THROUGH_BACK = 0.2


def _azure(bench: PieceBench, call: Call) -> Made:
    """Behind each stone the light hole opened to a cone, wide at the back."""
    stones: Feature = call.get("for")
    feature, into, faults = target_of(bench, call)
    if faults:
        return None, faults
    if call.get("narrow") > call.get("wide"):
        return None, [
            call.fault(
                "hole-widens",
                "an azure opens toward the back",
                "narrow",
                seen=f"{100 * call.get('narrow'):.3g} %",
                limit=f"{100 * call.get('wide'):.3g} %, its width at the back",
                remedy="make narrow smaller or wide larger",
            )
        ]
    made = bench.new_feature(call, stones.frames)
    for which, setting in enumerate(stones.stones):
        frames = stones.frames if stones.which is None else stones.frames[stones.which == which]
        deep = call.get("deep")
        if deep is None:
            deep = (
                _below(frames, feature, setting.pavilion() + setting.width / 2) - THROUGH_BACK
            )
        start = min(call.get("from", setting.pavilion()), deep - 0.1)
        if start <= 0:
            return None, [
                call.fault(
                    "no-depth",
                    f"there is no metal behind the stones of {stones.name} to open",
                    "for",
                    remedy="say how 'deep' the back lies below the girdle",
                )
            ]
        narrow, wide = call.get("narrow") * setting.width, call.get("wide") * setting.width
        past = wide + (wide - narrow) / (deep - start) * 2 * PAST
        bench.cut(made, cone(past, -deep - 2 * PAST, narrow, -start), frames, into)
    widest = max(stones.stones, key=lambda setting: setting.width).width
    made.offers = {
        "wide": lambda: mm(call.get("wide") * widest),
        "narrow": lambda: mm(call.get("narrow") * widest),
    }
    return made, []


def _seat(bench: PieceBench, call: Call) -> Made:
    stones: Feature = call.get("for")
    feature, into, faults = target_of(bench, call)
    if faults:
        return None, faults
    clearance, hole = call.get("clearance"), call.get("hole")
    made = bench.new_feature(call, stones.frames)
    for which, setting in enumerate(stones.stones):
        frames = stones.frames if stones.which is None else stones.frames[stones.which == which]
        shape = _seat_shape(call, setting, frames, feature)
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
    return made, []


def _seat_shape(
    call: Call, setting: StoneKind, frames: np.ndarray, feature: Feature | None
) -> Shape:
    """The cutter for stones of one kind."""
    depth = setting.pavilion() + setting.girdle() / 2
    crown = setting.crown() - setting.girdle() / 2
    rise = max(call.get("open", 0.0), crown) + PAST + setting.width / 4
    deep = call.get("deep")
    if deep is None:
        deep = _below(frames, feature, depth + setting.width / 2)
    figures = (setting.figures, call.get("clearance"), call.get("hole"), rise, deep)
    return Shape("seat", figures)


def _below(stones: np.ndarray, feature: Feature | None, otherwise: float) -> float:
    """How deep the light hole goes: just through the metal below the stones, where that is
    known."""
    if feature is None:
        return otherwise
    deepest = 0.0
    for frame in stones:
        for home in feature.frames:
            local = fr.apply(fr.inverse(home), frame[None, :, 3])[0]
            inward = -(home[:, :3].T @ frame[:, 2])
            if feature.depth is not None:
                deepest = max(deepest, feature.depth(local))
            elif feature.high > feature.low and inward[2] < -0.05:
                deepest = max(deepest, (local[2] - feature.low) / -inward[2])
        if len(feature.frames) > 50:
            break
    return deepest + THROUGH_BACK if deepest > 0 else otherwise


WORDS = (
    Word(
        "azure",
        "Opens the light hole behind each stone to a cone, wide at the back.",
        "settings",
        (
            Take("for", Kind.STONES, "the stones it lets light to", needed=True),
            target(),
            Take(
                "narrow",
                Kind.SHARE,
                "its width near the stone, as a share of the stone's",
                default="50 %",
                least=0.05,
                most=1.0,
            ),
            Take(
                "wide",
                Kind.SHARE,
                "its width at the back, as a share of the stone's",
                default="80 %",
                least=0.05,
                most=1.5,
            ),
            length("from", "how far below the girdle it begins; at the culet without it"),
            length("deep", "how far below the girdle the back lies, where that cannot be told"),
        ),
        places=False,
        example="azure light: for row, in frame",
        offers={"wide": "its width at the back", "narrow": "its width near the stone"},
        roles=frozenset({Role.LIGHT_HOLE}),
        made_by=_azure,
    ),
    Word(
        "seat",
        "Cuts the seat of each stone: straight in from above, then a bearing that follows the "
        "pavilion, 'clearance' wider than the stone all the way down to the light hole. A round "
        "stone's is turned: it takes the straights between the widest points at each height.",
        "settings",
        (
            Take("for", Kind.STONES, "the stones that sit in it", needed=True),
            target(),
            length(
                "clearance",
                "room all round, so that a stone of the nominal size drops in",
                default="0.04 mm",
                zero=True,
                most=0.5,
            ),
            Take(
                "hole",
                Kind.SHARE,
                "light hole, as a share of the stone's width",
                default="55 %",
                least=0.05,
                most=0.95,
            ),
            length(
                "deep",
                "how deep the light hole goes below the girdle; through the metal without it",
            ),
            length("open", "how far above the girdle the way in is cut", zero=True),
        ),
        places=False,
        example="seat: for row, in frame",
        offers={
            "for": "the stones",
            "floor": "below each culet",
            "hole": "width of the light hole",
            "clearance": "room all round",
            "centres": "the middle of each stone",
        },
        roles=frozenset({Role.SEAT}),
        made_by=_seat,
    ),
)
