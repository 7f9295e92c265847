"""Work that removes metal: hollow, drill, pierce, azure, seat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Fault
from ...lang.words import Kind, Take, Word
from .. import frames as fr
from ..feature import Feature, Places, spot
from ..feature import length as mm
from ..outlines import inset, trace
from ..placing import placed
from ..plan import Shape
from .common import Made, length, target
from .contour import CONTOUR, CONTOURS, contour

if TYPE_CHECKING:
    from ..bench import PieceBench
    from .stones import Setting

# How far a tool passes the surface it enters or leaves, mm: coincident faces leave slivers.
PAST = 0.05
# How far a light hole passes the back of the metal, mm.
THROUGH_BACK = 0.2
# A hole said to go through everything, mm.
THROUGH = 500.0


def target_of(
    bench: PieceBench, call: Call
) -> tuple[Feature | None, tuple[int, ...] | None, list[Fault]]:
    """The feature of `in`, its bodies (None: all metal so far), and faults when there is
    none."""
    feature: Feature | None = call.get("in")
    if feature is None:
        if not bench.has_metal():
            return (
                None,
                None,
                [
                    call.fault(
                        "no-metal",
                        f"{call.word.name} finds no metal above this line",
                        remedy=(
                            "the file is the order of work: put this line below the metal "
                            "it cuts"
                        ),
                    )
                ],
            )
        return None, None, []
    bodies = feature.bodies()
    if not bodies:
        return (
            None,
            None,
            [
                call.fault(
                    "no-metal",
                    f"{feature.name} has no metal to cut",
                    "in",
                    remedy="name a feature of metal",
                )
            ],
        )
    return feature, bodies, []


def _hollow(bench: PieceBench, call: Call) -> Made:
    feature, into, faults = target_of(bench, call)
    if faults:
        return None, faults
    if feature is None or feature.outline is None:
        return None, [
            call.fault(
                "not-hollowable",
                "hollow works on a bar, disc or plate",
                "in",
                remedy="name one with `in`; drill or pierce other bodies",
            )
        ]
    wall, roof = call.get("wall"), call.get("roof")
    high = feature.high - feature.low
    if roof > high - 0.01:
        return None, [
            call.fault(
                "roof-too-thick",
                f"a roof of {roof:g} mm fills {feature.name}, which is {high:g} mm high",
                "roof",
                seen=f"{roof:g} mm",
                limit=f"under {high:g} mm",
                remedy="make the roof thinner, or leave the line out",
            )
        ]
    outline = inset(feature.outline, wall)
    if not _room(feature, wall):
        return None, [
            call.fault(
                "wall-too-thick",
                f"walls of {wall:g} mm leave nothing to hollow in {feature.name}",
                "wall",
                seen=f"{wall:g} mm",
                limit=f"under half its narrow side, {_narrow(feature) / 2:g} mm",
                remedy="make the wall thinner",
            )
        ]
    shape = Shape("prism", (outline, feature.low - PAST, feature.high - roof))
    made = bench.new_feature(call, feature.frames)
    bench.cut(made, shape, feature.frames, into)
    made.offers = {
        "roof": lambda: spot(out=feature.high - roof, turn=fr.turned(1, 180.0)),
        "wall": lambda: mm(wall),
        "depth": lambda: mm(high - roof),
    }
    return made, []


def _narrow(feature: Feature) -> float:
    points = trace(feature.outline) if feature.outline else np.zeros((1, 2))
    return float(np.ptp(points, axis=0).min())


def _room(feature: Feature, wall: float) -> bool:
    if _narrow(feature) <= 2 * wall + 0.01 or feature.outline is None:
        return False
    return len(trace(inset(feature.outline, wall))) >= 3


def _hole(bench: PieceBench, call: Call, make: str, figures: tuple[object, ...]) -> Made:
    """A straight-walled hole going inward from each place, `deep` or right through."""
    _, into, faults = target_of(bench, call)
    if faults:
        return None, faults
    frames, faults = placed(call)
    if frames is None:
        return None, faults
    deep = call.get("deep", THROUGH)
    shape = Shape(make, (*figures, -deep, PAST))
    made = bench.new_feature(call, frames)
    bench.cut(made, shape, frames, into)
    made.offers = {"floor": lambda: spot(out=-deep), "mouth": lambda: spot()}
    return made, faults


def _drill(bench: PieceBench, call: Call) -> Made:
    if call.given("narrow"):
        return _tapered_hole(bench, call)
    return _hole(bench, call, "prism", (("circle", call.get("across")),))


def _tapered_hole(bench: PieceBench, call: Call) -> Made:
    """A hole that narrows from its mouth to its floor, `deep` below."""
    across, narrow, deep = call.get("across"), call.get("narrow"), call.get("deep")
    if deep is None:
        return None, [
            call.fault(
                "clause-missing",
                "a tapered hole wants its depth",
                "narrow",
                remedy="add `deep 2 mm`",
            )
        ]
    if narrow > across:
        return None, [
            call.fault(
                "hole-widens",
                f"{narrow:g} mm at the floor is wider than {across:g} mm at the mouth",
                "narrow",
                seen=f"{narrow:g} mm",
                limit=f"{across:g} mm",
                remedy="drill it from the other side",
            )
        ]
    _, into, faults = target_of(bench, call)
    if faults:
        return None, faults
    frames, faults = placed(call)
    if frames is None:
        return None, faults
    made = bench.new_feature(call, frames)
    bench.cut(made, cone(narrow, -deep, across, 0.0, PAST), frames, into)
    made.offers = {"floor": lambda: spot(out=-deep), "mouth": lambda: spot()}
    return made, faults


def cone(
    low_wide: float, low: float, high_wide: float, high: float, past: float = 0.0
) -> Shape:
    """A tapered plug between two heights, carried on by ``past`` mm at its upper end."""
    slope = (high_wide - low_wide) / (high - low)
    top = max(high_wide + slope * past, 0.01)
    profile = ((0.0, low), (low_wide / 2, low), (top / 2, high + past), (0.0, high + past))
    return Shape("lathe", (profile, max(low_wide, top) / 2))


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
                    remedy="say how `deep` the back lies below the girdle",
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


def _pierce(bench: PieceBench, call: Call) -> Made:
    outline, faults = contour(bench, call)
    if outline is None:
        return None, faults
    return _hole(bench, call, "prism", (outline,))


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
    call: Call, setting: Setting, frames: np.ndarray, feature: Feature | None
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
        "hollow",
        "Hollows a bar, disc or plate from the back, leaving walls and a roof.",
        "work",
        (
            target("the body hollowed"),
            length("wall", "thickness left at the sides", needed=True),
            length("roof", "thickness left at the face", needed=True),
        ),
        places=False,
        example="hollow back: in frame, wall 0.9 mm, roof 1 mm",
        offers={
            "roof": "the middle of the inner face, looking backward",
            "wall": "thickness left at the sides",
            "depth": "how deep it goes",
        },
        made_by=_hollow,
    ),
    Word(
        "drill",
        "Drills a round hole inward from each place.",
        "work",
        (
            length("across", "diameter of the drill, at the mouth", needed=True),
            length("deep", "how deep; right through without it"),
            length("narrow", "diameter at the floor, for a tapered hole"),
            target(),
        ),
        example="drill holes: at corners of frame, across 0.8 mm, in frame",
        offers={"floor": "the bottom of each hole", "mouth": "the top of each hole"},
        made_by=_drill,
    ),
    Word(
        "pierce",
        "Pierces an outline inward from each place, as with the saw.",
        "work",
        (*CONTOUR, length("deep", "how deep; right through without it"), target()),
        one_of=(CONTOURS,),
        example="pierce window: oval 6 x 3 mm, in frame",
        offers={"floor": "the bottom of each cut", "mouth": "the top of each cut"},
        made_by=_pierce,
    ),
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
        made_by=_azure,
    ),
    Word(
        "seat",
        "Cuts the seat of each stone. A bearing follows the pavilion, with a way in from above "
        "and a light hole below.",
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
        made_by=_seat,
    ),
)
