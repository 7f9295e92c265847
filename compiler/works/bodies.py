"""Bodies that stand on their ground: bar, disc, plate, tube, rod, ball, dome."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from .. import frames as fr
from ..feature import Lines, Offer, Places, spot
from ..feature import length as mm
from ..lines import ring
from ..outlines import Outline, inset, trace
from ..plan import Shape
from ..surfaces import Cap
from .common import Made, body, length, metal, rims, size
from .contour import CONTOUR, CONTOURS, contour
from .softening import SHARP, Rim, rim_taken, straight_body

if TYPE_CHECKING:
    from ..bench import PieceBench

BACK = fr.turned(1, 180.0)  # a place on the back looks away from the onlooker


def flat_offers(
    outline: Outline, low: float, high: float, rim: Rim = SHARP
) -> dict[str, Offer]:
    """What every straight-sided body offers: its faces, rims and middle."""
    middle = _middle(outline)
    face, back = inset(outline, rim.front), inset(outline, rim.back)
    return {
        "face": lambda: spot(*middle, high),
        "back": lambda: spot(*middle, low, BACK),
        "centre": lambda: spot(*middle, (low + high) / 2),
        "rim": lambda: Lines((ring(trace(face), high),)),
        "back-rim": lambda: Lines((ring(trace(back), low, -1.0),)),
        "waist": lambda: Lines((_waist(outline, (low + high) / 2),)),
        "ends": lambda: _ends(outline, (low + high) / 2),
        "height": lambda: mm(high - low),
        "length": lambda: mm(np.ptp(trace(outline)[:, 0])),
        "width": lambda: mm(np.ptp(trace(outline)[:, 1])),
    }


FLAT_HELP = {
    "face": "the middle of its face",
    "back": "the middle of its back, looking backward",
    "centre": "the middle of its metal",
    "rim": "the edge of its face, a closed line",
    "back-rim": "the edge of its back, a closed line",
    "waist": "the line round its side, half way up, looking outward",
    "ends": "its right and left ends, half way up, x pointing away; the left mirrors the right",
    "height": "from back to face",
    "length": "from left to right",
    "width": "from bottom to top",
}


def _middle(outline: Outline) -> tuple[float, float]:
    if outline[0] in ("rectangle", "circle", "ellipse"):
        return 0.0, 0.0
    points = trace(outline)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return float(middle[0]), float(middle[1])


def _ends(outline: Outline, height: float) -> Places:
    """Right and left end; the left frame is the mirror image of the right when the outline
    is."""
    points = trace(outline)
    right = float(points[:, 0].max())
    left = float(points[:, 0].min())
    _, up = _middle(outline)
    first = fr.shifted(right, up, height)
    second = fr.compose(fr.shifted(left, up, height), fr.flipped(0))
    return Places(np.concatenate([first, second]))


def _waist(outline: Outline, height: float) -> Any:
    """The line round the side: it runs counter-clockwise and looks away from the body."""
    from ..lines import Line

    line = ring(trace(outline), height)
    chords = line.chords()
    unit = chords / np.linalg.norm(chords, axis=1, keepdims=True)
    mean = unit + np.roll(unit, 1, axis=0)
    outs = np.cross(mean, [0.0, 0.0, 1.0])
    return Line(line.points, outs / np.linalg.norm(outs, axis=1, keepdims=True), True)


def _bar(bench: PieceBench, call: Call) -> Made:
    long, wide, high = call.get("size")
    corner = call.get("corner", 0.0)
    if corner > min(long, wide) / 2 + 1e-9:
        return None, [
            call.fault(
                "corner-too-round",
                f"a corner of {corner:g} mm does not fit a bar {min(long, wide):g} mm wide",
                "corner",
                seen=f"{corner:g} mm",
                limit=f"{min(long, wide) / 2:g} mm, half its narrow side",
                remedy="make the corner smaller",
            )
        ]
    outline = ("rectangle", long, wide, min(corner, long / 2, wide / 2))
    rim, faults = rim_taken(call, outline, high)
    if rim is None:
        return None, faults
    offers = flat_offers(outline, 0.0, high, rim)
    offers["corners"] = lambda: _corners(long, wide, corner, high)
    offers["corner"] = lambda: mm(corner)
    return body(bench, call, straight_body(outline, high, rim), 0.0, high, offers, outline)


def _corners(long: float, wide: float, corner: float, high: float) -> Places:
    """The four corners of the face, x pointing away along the diagonal."""
    frames = []
    for x, y, turn in ((1, 1, 45.0), (-1, 1, 135.0), (-1, -1, 225.0), (1, -1, 315.0)):
        inward = corner * (1 - math.sqrt(0.5))
        frame = fr.shifted(x * (long / 2 - inward), y * (wide / 2 - inward), high)
        frames.append(fr.compose(frame, fr.turned(2, turn)))
    return Places(np.concatenate(frames))


def _disc(bench: PieceBench, call: Call) -> Made:
    across, high = call.get("across"), call.get("height")
    outline = ("circle", across)
    rim, faults = rim_taken(call, outline, high)
    if rim is None:
        return None, faults
    offers = flat_offers(outline, 0.0, high, rim)
    offers["across"] = lambda: mm(across)
    return body(bench, call, straight_body(outline, high, rim), 0.0, high, offers, outline)


def _plate(bench: PieceBench, call: Call) -> Made:
    outline, faults = contour(bench, call)
    if outline is None:
        return None, faults
    high = call.get("thick")
    rim, more = rim_taken(call, outline, high)
    if rim is None:
        return None, more
    offers = flat_offers(outline, 0.0, high, rim)
    return body(bench, call, straight_body(outline, high, rim), 0.0, high, offers, outline)


def _tube(bench: PieceBench, call: Call) -> Made:
    outside, inside, high = call.get("outside"), call.get("inside"), call.get("height")
    if inside >= outside - 0.02:
        return None, [
            call.fault(
                "no-wall",
                f"a tube {outside:g} mm outside and {inside:g} mm inside has no wall",
                "inside",
                seen=f"wall {(outside - inside) / 2:g} mm",
                limit="0.01 mm or more; most metals cast from 0.8 mm",
                remedy=f"make inside smaller than {outside:g} mm",
            )
        ]
    profile = ((inside / 2, 0.0), (outside / 2, 0.0), (outside / 2, high), (inside / 2, high))
    outline = ("circle", outside)
    offers = flat_offers(outline, 0.0, high)
    offers["across"] = offers["outside"] = lambda: mm(outside)
    offers["inside"] = lambda: mm(inside)
    offers["wall"] = lambda: mm((outside - inside) / 2)
    shape = Shape("lathe", (profile, outside / 2))
    return body(bench, call, shape, 0.0, high, offers, outline)


def _rod(bench: PieceBench, call: Call) -> Made:
    across, long = call.get("across"), call.get("long")
    tip = call.get("tip", "flat")
    if tip == "round" and long < across / 2:
        return None, [
            call.fault(
                "rod-too-short",
                f"a round tip of a rod {across:g} mm across needs {across / 2:g} mm of length",
                "long",
                seen=f"{long:g} mm",
                limit=f"{across / 2:g} mm or more",
                remedy="make it longer, or say `tip flat`",
            )
        ]
    shape = Shape("rod", (across, long, tip))
    offers: dict[str, Offer] = {
        "tip": lambda: spot(out=long),
        "foot": lambda: spot(turn=BACK),
        "across": lambda: mm(across),
        "long": lambda: mm(long),
    }
    return body(bench, call, shape, 0.0, long, offers)


def _ball(bench: PieceBench, call: Call) -> Made:
    across = call.get("across")
    offers: dict[str, Offer] = {
        "centre": lambda: spot(out=across / 2),
        "across": lambda: mm(across),
        "top": lambda: spot(out=across),
    }
    return body(bench, call, Shape("ball", (across,)), 0.0, across, offers)


def _dome(bench: PieceBench, call: Call) -> Made:
    across, high, wall = call.get("across"), call.get("height"), call.get("wall")
    if high > across / 2 + 1e-9:
        return None, [
            call.fault(
                "dome-too-high",
                f"a dome {across:g} mm across cannot rise {high:g} mm",
                "height",
                seen=f"{high:g} mm",
                limit=f"{across / 2:g} mm, half a ball",
                remedy="make it lower, or set it on a disc",
            )
        ]
    if wall is not None and wall >= high - 0.01:
        return None, [
            call.fault(
                "no-wall",
                f"a wall of {wall:g} mm fills a dome {high:g} mm high",
                "wall",
                seen=f"{wall:g} mm",
                limit=f"under {high:g} mm",
                remedy="leave `wall` out for a solid dome",
            )
        ]
    outline = ("circle", across)
    offers = flat_offers(outline, 0.0, high)
    offers["top"] = offers["face"]
    offers["rim"] = offers["back-rim"]
    offers["across"] = lambda: mm(across)
    shape = Shape("dome", (across, high, wall or 0.0))
    made, faults = body(bench, call, shape, 0.0, high, offers, outline)
    if made is not None:
        made.surface = Cap(across, high)
    return made, faults


WORDS = (
    Word(
        "bar",
        "A straight bar, lying along x, its face toward the onlooker.",
        "shapes",
        (
            size("size", "length x width x height", 3, needed=True),
            length("corner", "rounds the four upright edges", zero=True, default="0 mm"),
            *rims(),
            metal(),
        ),
        example="bar frame: size 22 x 5 x 2 mm, corner 0.5 mm",
        offers={
            **FLAT_HELP,
            "corners": "the four corners of its face",
            "corner": "their radius",
        },
        made_by=_bar,
    ),
    Word(
        "disc",
        "A round flat body.",
        "shapes",
        (
            length("across", "its diameter", needed=True),
            length("height", "from back to face", needed=True),
            *rims(),
            metal(),
        ),
        example="disc medal: across 16 mm, height 1.2 mm",
        offers={**FLAT_HELP, "across": "its diameter"},
        made_by=_disc,
    ),
    Word(
        "plate",
        "A flat body of any outline.",
        "shapes",
        (*CONTOUR, length("thick", "from back to face", needed=True), *rims(), metal()),
        one_of=(CONTOURS,),
        example="plate leaf: marquise 14 x 7 mm, thick 1.2 mm",
        offers=FLAT_HELP,
        made_by=_plate,
    ),
    Word(
        "tube",
        "A round tube standing on its end.",
        "shapes",
        (
            length("outside", "outside diameter", needed=True),
            length("inside", "inside diameter", needed=True),
            length("height", "its length", needed=True),
            metal(),
        ),
        example="tube collet: outside 5 mm, inside 3.4 mm, height 3 mm",
        offers={
            **FLAT_HELP,
            "across": "outside diameter",
            "outside": "outside diameter",
            "inside": "inside diameter",
            "wall": "thickness of its wall",
        },
        made_by=_tube,
    ),
    Word(
        "rod",
        "A straight piece of round wire standing on its end.",
        "shapes",
        (
            length("across", "its diameter", needed=True),
            length("long", "its length", needed=True),
            Take(
                "tip",
                Kind.CHOICE,
                "shape of its upper end",
                default="flat",
                choices=("flat", "round"),
            ),
            metal(),
        ),
        example="rod post: across 0.8 mm, long 10 mm, tip round",
        offers={
            "tip": "the middle of its upper end",
            "foot": "the middle of its lower end, looking down",
            "across": "its diameter",
            "long": "its length",
        },
        made_by=_rod,
    ),
    Word(
        "ball",
        "A ball, or a granule, resting on its ground.",
        "shapes",
        (length("across", "its diameter", needed=True), metal()),
        example="ball drop: across 4 mm",
        offers={
            "centre": "its middle",
            "top": "its highest point",
            "across": "its diameter",
        },
        made_by=_ball,
    ),
    Word(
        "dome",
        "A domed disc, as from the doming block; solid, or a shell with `wall`.",
        "shapes",
        (
            length("across", "its diameter", needed=True),
            length("height", "how far it rises", needed=True),
            length("wall", "makes it a shell of this thickness, open at the back"),
            metal(),
        ),
        example="dome shell: across 14 mm, height 4 mm, wall 0.9 mm",
        offers={**FLAT_HELP, "top": "its highest point", "across": "its diameter"},
        made_by=_dome,
    ),
)
