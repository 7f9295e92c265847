"""Rings for the finger: the band, lying in the x-z plane with its head at +z."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Fault
from ...lang.words import Kind, Take, Word
from ...stdlib.fingers import inside_diameter
from .. import frames as fr
from ..feature import Feature, Lines, Places, length as mm
from ..lines import Line
from ..outlines import circle, fine_segments
from ..plan import Shape
from ..surfaces import Round
from .common import Made, body, length, metal

if TYPE_CHECKING:
    from ..bench import PieceBench

PROFILES = ("flat", "court", "d", "half-round", "knife-edge")


def finger(call: Call) -> tuple[float | None, list[Fault]]:
    """Inside diameter, mm, from `inside` or `finger "us 7"`."""
    if call.given("inside"):
        return call.get("inside"), []
    words = call.get("finger").split(None, 1)
    if len(words) != 2:
        return None, [
            call.fault(
                "finger-size",
                f'"{call.get("finger")}" does not name a scale and a size',
                "finger",
                remedy='write the scale first: "iso 54", "us 7", "uk N 1/2" or "jp 14"',
            )
        ]
    diameter, problem = inside_diameter(words[0].lower(), words[1])
    if diameter is None:
        return None, [
            call.fault(
                "finger-size", problem, "finger", remedy='as in "iso 54", "us 7", "uk N 1/2", "jp 14"'
            )
        ]
    return diameter, []


def _band(bench: PieceBench, call: Call) -> Made:
    inside, faults = finger(call)
    if inside is None:
        return None, faults
    wide, thick, profile = call.get("wide"), call.get("thick"), call.get("profile")
    inner, outer = inside / 2, inside / 2 + thick
    shape = Shape("band", (inside, wide, thick, profile, bool(call.get("comfort"))))
    made, more = body(bench, call, shape, -outer, outer, {})
    if made is not None:
        _offers(made, inner, outer, wide)
    return made, faults + more


def _offers(feature: Feature, inner: float, outer: float, wide: float) -> None:
    """Top, bottom and lines of a band, and how deep a hole under a stone must go."""
    feature.offers |= {
        "top": lambda: _at(outer, 0.0),
        "bottom": lambda: _at(outer, 180.0),
        "shoulders": lambda: _two(_at(outer, 45.0), outer),
        "around": lambda: Lines((_round(outer, 0.0),)),
        "inside-around": lambda: Lines((_round(inner, 0.0),)),
        "edges": lambda: Lines((_round(outer, -wide / 2), _round(outer, wide / 2))),
        "inside": lambda: mm(2 * inner),
        "outside": lambda: mm(2 * outer),
        "wide": lambda: mm(wide),
        "thick": lambda: mm(outer - inner),
    }
    feature.surface = Round(outer, wide)
    feature.depth = lambda origin: math.hypot(origin[0], origin[2]) - inner


def _at(radius: float, degrees: float) -> Places:
    """The place on the outside, so many degrees from the head toward the right."""
    return Places(fr.compose(fr.turned(1, degrees), fr.shifted(out=radius)))


def _two(right: Places, outer: float) -> Places:
    mirrored = fr.compose(fr.flipped(0), right.frames)
    return Places(np.concatenate([right.frames, mirrored]))


def _round(radius: float, up: float) -> Line:
    """The line round the band at ``up`` from its middle, starting at the head, looking outward."""
    flat = circle(1.0, fine_segments(radius))
    outs = np.stack([flat[:, 1], np.zeros(len(flat)), flat[:, 0]], axis=1)
    points = outs * radius
    points[:, 1] = up
    return Line(points, outs, True)


WORDS = (
    Word(
        "band",
        "The shank of a ring, by finger size; it lies in the x-z plane, its head at +z.",
        "shapes",
        (
            Take("finger", Kind.TEXT, 'scale and size: "iso 54", "us 7", "uk N 1/2", "jp 14"'),
            length("inside", "inside diameter, in place of a finger size"),
            length("wide", "along the finger", needed=True),
            length("thick", "from finger to outside", needed=True),
            Take(
                "profile", Kind.CHOICE, "its section", default="flat", choices=PROFILES
            ),
            Take("comfort", Kind.FLAG, "rounds the inside too"),
            metal(),
        ),
        one_of=(("finger", "inside"),),
        example='band shank: finger "us 7", wide 3 mm, thick 1.8 mm, profile d',
        offers={
            "top": "the middle of its head, on the outside",
            "bottom": "the middle of its back, on the outside",
            "shoulders": "right and left of the head, half way down to the side",
            "around": "the line round its outside",
            "inside-around": "the line round its inside",
            "edges": "the two lines round its outer edges",
            "inside": "inside diameter",
            "outside": "outside diameter",
            "wide": "along the finger",
            "thick": "from finger to outside",
        },
        made_by=_band,
    ),
)
