"""Work that removes metal: drill, pierce."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.faces import faced
from ..bench.feature import Feature, spot
from ..bench.feature import length as mm
from ..bench.opening import PAST, cone, hole
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..bench.plan import Shape
from ..bench.roles import Role
from ..bench.sides import WALLS, walls
from ..geometry import frames as fr
from ..geometry.outlines import Outline
from .common import length
from .contour import CONTOUR, CONTOURS, EDGES_HELP, contour, edges
from .lettering import SAWN
from .mouths import IN, at_face, cuts_nothing, idle, mouths
from .text_run import ABOVE, SAWN_RUN, Mark, text_run

DEEP = "how deep, from its mouth"
THROUGH_ALL = Take(
    "through", Kind.FLAG,
    "goes on through every wall behind the first: a tunnel through a cup, a hollow or a tube",
    not_with=("deep",),
)
# Further than any piece, mm.
THROUGH = 500.0


def target_of(
    bench: PieceBench, call: Call, raised: bool = True
) -> tuple[Feature | None, tuple[int, ...] | None]:
    """The feature of `in` and its bodies, with what is ``raised`` on it; (None, None) without `in`: all metal
    there is so far. Raises Refused where there is no metal."""
    feature: Feature | None = call.get("in")
    if feature is None:
        if not bench.has_metal():
            call.refuse(
                "no-metal", f"{call.word.name} finds no metal above this line",
                remedy="the file is the order of work: put this line below the metal it cuts",
            )
        return None, None
    bodies = feature.in_its_way() if raised else feature.bodies()
    if not bodies:
        call.refuse("no-metal", f"{feature.name} has no metal to cut", "in", remedy="name a part of metal")
    return feature, bodies


def _hole(bench: PieceBench, call: Call, outline: Outline) -> tuple[Feature, Callable[[], float]]:
    """A straight-walled hole going inward from each place, and how far in the middle of the metal is."""
    frames = mouths(bench, call)
    middle = bench.half_way(frames[:1])
    made = _straight(bench, call, [(outline, fr.identity())], frames)
    if not call.given("deep"):
        made.offers |= walls(outline, middle)
    return made, middle


def _straight(
    bench: PieceBench, call: Call, marks: list[Mark], frames: np.ndarray, above: float = 0.0
) -> Feature:
    """Straight-walled cuts from ``above`` each place inward, `deep` below it or to the back of the metal."""
    feature, into = target_of(bench, call)
    deep = call.get("deep")
    first = fr.compose(frames, marks[0][1])
    if feature is not None and idle(feature, first, THROUGH if deep is None else deep):
        cuts_nothing(call, feature, frames)
    made = bench.new_feature(call, frames)
    for outline, home in marks:
        places = fr.rounded(fr.compose(fr.compose(frames, home), fr.shifted(out=above)))
        bench.cut(made, hole(outline, deep and deep + above, call.get("through")), places, into)
    made.offers = {"mouth": lambda: spot()}
    if deep is not None:
        made.offers["floor"] = lambda: spot(out=-deep)
    return made


def _drill(bench: PieceBench, call: Call) -> Feature:
    if call.get("ball"):
        return _ball_cut(bench, call)
    if call.given("narrow"):
        return _tapered_hole(bench, call)
    across = call.get("across")
    made, middle = _hole(bench, call, ("circle", across))
    if not call.given("deep"):
        made.eye = lambda: (across, middle())
    return made


def _ball_cut(bench: PieceBench, call: Call) -> Feature:
    """A hollow as round as the burr itself, `deep` from its mouth."""
    across, deep = call.get("across"), call.get("deep")
    if deep is None or deep > across / 2 + 1e-9:
        call.refuse(
            "clause-missing" if deep is None else "hole-widens",
            "a ball burr wants its depth, at most half its width", "ball" if deep is None else "deep",
            seen=None if deep is None else f"{deep:g} mm", limit=f"{across / 2:g} mm",
            remedy="say 'deep 0.2 mm'",
        )
    _, into = target_of(bench, call, raised=False)
    frames = _clear_of_walls(bench, call, at_face(call, placed(call)), across / 2, deep)
    made = bench.new_feature(call, frames)
    blows = _struck(frames, deep, call.get("uneven", 0.0), (call.get("every") or (across,))[0])
    bench.cut(made, Shape("ball", (across,)), blows, into)
    made.offers = {"floor": lambda: spot(out=-deep), "mouth": lambda: spot()}
    return made


def _clear_of_walls(
    bench: PieceBench, call: Call, frames: np.ndarray, radius: float, deep: float
) -> np.ndarray:
    """The blows upon a face that strike no wall of what was sunk in it."""
    upon: Feature | None = call.get("upon")
    if upon is None:
        return frames
    found = frames[~bench.strikes(faced(upon), frames, radius, deep)]
    if not len(found):
        call.refuse(
            "no-places", f"the ball is larger than what was sunk in {upon.name}: it strikes its walls",
            "across", seen=f"{2 * radius:g} mm", remedy="take a smaller ball, or hammer before you cut",
        )
    return found


def _struck(frames: np.ndarray, deep: float, uneven: float, pitch: float) -> np.ndarray:
    """The middles of balls whose hollows go ``deep``; where they are ``uneven`` each stands off its place by
    up to that share of half the pitch, and is deeper or shallower by half of it: in a fixed sequence."""
    if not uneven:
        return fr.compose(frames, fr.shifted(out=-deep))
    mixed = np.arange(1, 3 * len(frames) + 1, dtype=np.uint64) * np.uint64(2654435761) % np.uint64(2**32)
    mixed = (mixed ^ (mixed >> np.uint64(13))) * np.uint64(1274126177) % np.uint64(2**32)
    right, up, less = (mixed / 2.0**32).reshape(3, -1)
    off, struck = uneven * pitch / 2, frames.copy()
    go = np.stack([(2 * right - 1) * off, (2 * up - 1) * off, -deep * (1 + uneven * (0.5 - less))])
    struck[:, :, 3] += np.einsum("nij,jn->ni", frames[:, :, :3], go)
    return fr.rounded(struck)


def _tapered_hole(bench: PieceBench, call: Call) -> Feature:
    """A hole that narrows from its mouth to its floor, `deep` below."""
    across, narrow, deep = call.get("across"), call.get("narrow"), call.get("deep")
    if deep is None:
        call.refuse("clause-missing", "a tapered hole wants its depth", "narrow", remedy="add 'deep 2 mm'")
    if narrow > across:
        call.refuse(
            "hole-widens", f"{narrow:g} mm at the floor is wider than {across:g} mm at the mouth", "narrow",
            seen=f"{narrow:g} mm", limit=f"{across:g} mm", remedy="drill it from the other side",
        )
    feature, into = target_of(bench, call)
    frames = at_face(call, placed(call))
    if feature is not None and idle(feature, frames, deep):
        cuts_nothing(call, feature, frames)
    made = bench.new_feature(call, frames)
    bench.cut(made, cone(narrow, -deep, across, 0.0, PAST), frames, into)
    made.offers = {"floor": lambda: spot(out=-deep), "mouth": lambda: spot()}
    return made


def _pierce(bench: PieceBench, call: Call) -> Feature:
    if call.given("letters"):
        setting, marks, frames = text_run(bench, call)
        made = _straight(bench, call, marks, at_face(call, frames), ABOVE if call.given("along") else 0.0)
        made.offers |= {"wide": lambda: mm(setting.wide), "tall": lambda: mm(setting.tall)}
        return made
    outline = contour(bench, call)
    made, _ = _hole(bench, call, outline)
    made.offers |= edges(outline, 0.0, -call.get("deep") if call.given("deep") else None)
    return made


WORDS = (
    Word(
        "drill", "Drills a round hole inward from each place.", "work",
        (
            length("across", "diameter of the drill, at the mouth", needed=True),
            length("deep", DEEP),
            THROUGH_ALL,
            length("narrow", "diameter at the floor, for a tapered hole"),
            Take(
                "ball", Kind.FLAG, "a ball burr: the hollow is as round as it is", goes_with=("deep",),
                not_with=("narrow",),
            ),
            Take(
                "uneven", Kind.PERCENT,
                "of a ball: as blows of a hammer, each off its place by up to so much of half the pitch, "
                "and deeper or shallower by up to half of so much; the same each time", default="0 %",
                least=0.0, most=1.0, goes_with=("ball",),
            ),
            IN,
        ),
        example="drill eyes: at face of frame, in frame, row 3, every 4.5 mm, across 2.4 mm",
        offers={
            "floor": "the bottom of each hole, where 'deep' says it",
            "mouth": "the top of each hole",
            **WALLS,
        },
        roles=frozenset({Role.CUT, Role.OPENS, Role.HOLE}), made_by=_drill,
    ),
    Word(
        "pierce", "Pierces an outline inward from each place, as with the saw.", "work",
        (*CONTOUR, SAWN, *SAWN_RUN, length("deep", DEEP), THROUGH_ALL, IN), one_of=((*CONTOURS, "letters"),),
        example="pierce window: oval 6 x 3 mm, at face of frame, in frame",
        offers={
            "floor": "the bottom of each cut, where 'deep' says it",
            "mouth": "the top of each cut",
            **EDGES_HELP,
            **WALLS,
            "wide": "of letters: length of the text",
            "tall": "of letters: height of its capitals",
        },
        roles=frozenset({Role.CUT, Role.OPENS}), made_by=_pierce,
    ),
)
