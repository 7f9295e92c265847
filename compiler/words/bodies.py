"""Flat bodies that stand on their ground: bar, disc, plate."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ...lang.bench import Call
from ...lang.words import Word
from ..bench.feature import Feature, Lines, Offer, Places, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..geometry.line import ring
from ..geometry.outlines import Outline, inset, trace, trace_all
from ..geometry.parallels import next_of, prior_of
from ..geometry.surfaces import Flat
from ..measures.kinds import unit
from .common import body, length, metal, rims, size
from .contour import CONTOUR, CONTOURS, contour
from .crescents import crescent
from .lettering import JOINED, LETTERED, dots
from .softening import SHARP, Rim, rim_taken, straight_body

SHOULDER = 0.14  # of the height of a capital above its middle, where the first and last letter end
BACK = fr.turned(1, 180.0)  # a place on the back looks away from the onlooker


def flat_offers(outline: Outline, high: float, rim: Rim = SHARP) -> dict[str, Offer]:
    """What every straight-sided body offers: its faces, rims and middle."""
    middle = _middle(outline)
    face, back = inset(outline, rim.front), inset(outline, rim.back)
    return {
        "face": lambda: spot(*middle, high),
        "back": lambda: spot(*middle, 0.0, BACK),
        "centre": lambda: spot(*middle, high / 2),
        "rim": lambda: Lines((ring(trace(face), high),), True),
        "back-rim": lambda: Lines((ring(trace(back), 0.0, -1.0),), True),
        "waist": lambda: Lines((waist(trace(outline), high / 2),)),
        "ends": lambda: _ends(outline, high / 2),
        "thick": lambda: mm(high),
        "length": lambda: mm(np.ptp(_spots(outline)[:, 0])),
        "width": lambda: mm(np.ptp(_spots(outline)[:, 1])),
    }


FLAT_HELP = {
    "face": "the middle of its face",
    "back": "the middle of its back, looking backward",
    "centre": "the middle of its metal",
    "rim": "the edge of its face, a closed path",
    "back-rim": "the edge of its back, a closed path",
    "waist": "the path round its side, half way up, looking outward",
    "ends": "the middle of its right and of its left end, facing outward; the left mirrors the right",
    "thick": "from back to face",
    "length": "from left to right",
    "width": "from bottom to top",
}


def standing_help(name: str, help: str) -> dict[str, str]:
    """The same of a body whose measure from back to face is called ``name``: it is no thickness."""
    rest = {key: said for key, said in FLAT_HELP.items() if key != "thick"}
    return {**rest, name: help}


def _spots(outline: Outline) -> np.ndarray:
    return np.concatenate(trace_all(outline))


def _middle(outline: Outline) -> tuple[float, float]:
    if outline[0] in ("rectangle", "circle", "ellipse", "cross"):
        return 0.0, 0.0
    points = _spots(outline)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return float(middle[0]), float(middle[1])


def _ends(outline: Outline, height: float, up: float | None = None) -> Places:
    """Right and left end, where the outline ends half way ``up``, or there; the left frame is the mirror
    image of the right when the outline is."""
    points = trace(outline)
    up = _middle(outline)[1] if up is None else up
    one, two = points[:, 1] - up, next_of(points[:, 1]) - up
    crossed = (one <= 0) != (two <= 0)
    share = one[crossed] / (one[crossed] - two[crossed])
    across = points[crossed, 0] + share * (next_of(points[:, 0])[crossed] - points[crossed, 0])
    right, left = float(across.max()), float(across.min())
    first = fr.shifted(right, up, height)
    second = fr.compose(fr.shifted(left, up, height), fr.flipped(0))
    return Places(np.concatenate([first, second]))


def waist(points: np.ndarray, height: float) -> Any:
    """The line round the side of an outline's ``points`` (n, 2): it runs counter-clockwise and looks away
    from the body."""
    from ..geometry.line import Line

    line = ring(points, height)
    ahead = unit(line.chords())
    mean = ahead + prior_of(ahead)
    return Line(line.points, unit(np.cross(mean, [0.0, 0.0, 1.0])), True)


def _bar(bench: PieceBench, call: Call) -> Feature:
    long, wide, high = call.get("size")
    corner = call.get("corner", 0.0)
    if corner > min(long, wide) / 2 + 1e-9:
        call.refuse(
            "corner-too-round", f"a corner of {corner:g} mm does not fit a bar {min(long, wide):g} mm wide",
            "corner", seen=f"{corner:g} mm", limit=f"{min(long, wide) / 2:g} mm, half its narrow side",
            remedy="make the corner smaller",
        )
    outline = ("rectangle", long, wide, min(corner, long / 2, wide / 2))
    corners = {"corners": lambda: _corners(long, wide, corner, high), "corner": lambda: mm(corner)}
    return _flat(bench, call, outline, high, corners)


def _flat(bench: PieceBench, call: Call, outline: Outline, high: float, more: dict[str, Offer]) -> Feature:
    """The body, its face as far as its rim leaves it; it offers ``more`` than every flat one."""
    rim = rim_taken(call, outline, high)
    offers = flat_offers(outline, high, rim) | more
    shape, face = straight_body(outline, high, rim), Flat(outline, high, rim.front)
    return body(bench, call, shape, 0.0, high, offers, outline, surface=face)


def _corners(long: float, wide: float, corner: float, high: float) -> Places:
    """The four corners of the face, x pointing away along the diagonal."""
    frames = []
    for x, y, turn in ((1, 1, 45.0), (-1, 1, 135.0), (-1, -1, 225.0), (1, -1, 315.0)):
        inward = corner * (1 - math.sqrt(0.5))
        frame = fr.shifted(x * (long / 2 - inward), y * (wide / 2 - inward), high)
        frames.append(fr.compose(frame, fr.turned(2, turn)))
    return Places(np.concatenate(frames))


def _disc(bench: PieceBench, call: Call) -> Feature:
    across = call.get("across")
    return _flat(bench, call, ("circle", across), call.get("thick"), {"across": lambda: mm(across)})


def _plate(bench: PieceBench, call: Call) -> Feature:
    outline, high, offers = contour(bench, call), call.get("thick"), dict[str, Offer]()
    if call.given("letters"):
        offers["ends"] = lambda: _ends(outline, high / 2, SHOULDER * call.get("tall"))
        offers["dots"] = lambda: Places(
            np.concatenate([np.zeros((0, 3, 4)), *(fr.shifted(x, y, high) for x, y in dots(bench, call))])
        )
    if call.given("crescent"):
        moon, upright = crescent(call), bool(call.get("upright"))
        offers["belly"] = lambda: moon.belly(high, upright)
        offers["horns"] = lambda: moon.horns(high / 2, upright)
    return _flat(bench, call, outline, high, offers)


WORDS = (
    Word(
        "bar", "A straight bar, lying along x, its face toward you.", "shapes",
        (
            size("size", "length x width x thickness", 3, needed=True, of=FigureOf.THICKNESS),
            length("corner", "rounds the four upright edges", zero=True, default="0 mm"),
            *rims(),
            *metal(),
        ),
        example="bar frame: size 22 x 5 x 2 mm, corner 0.5 mm",
        offers={
            **FLAT_HELP,
            "corners": "the four corners of its face",
            "corner": "their radius",
        },
        roles=frozenset({Role.BODY}), made_by=_bar,
    ),
    Word(
        "disc", "A round flat body.", "shapes",
        (
            length("across", "its diameter", needed=True),
            length("thick", "from back to face", needed=True, of=FigureOf.THICKNESS),
            *rims(),
            *metal(),
        ),
        example="disc medal: across 16 mm, thick 1.2 mm", offers={**FLAT_HELP, "across": "its diameter"},
        roles=frozenset({Role.BODY}), made_by=_disc,
    ),
    Word(
        "plate", "A flat body of any outline.", "shapes",
        (
            *CONTOUR,
            *LETTERED,
            *JOINED,
            length("thick", "from back to face", needed=True, of=FigureOf.THICKNESS),
            *rims(),
            *metal(),
        ),
        one_of=((*CONTOURS, "letters"),), example="plate leaf: marquise 14 x 7 mm, thick 1.2 mm",
        offers={
            **FLAT_HELP,
            "ends": FLAT_HELP["ends"] + ". Of letters at the shoulders of small ones",
            "dots": "of letters: the middle of each dot, as of an i, from the left",
            "horns": "of a crescent: the ends of its horns, facing outward; the second mirrors the first",
            "belly": "of a crescent: the path midway between its rounds, from horn to horn, on its face",
        },
        roles=frozenset({Role.BODY}), made_by=_plate,
    ),
)
