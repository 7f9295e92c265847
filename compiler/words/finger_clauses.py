"""How large something is that goes round a finger, and how it stands farther along it at its head."""

from __future__ import annotations

import math
from dataclasses import replace

from ...lang.bench import Call
from ...lang.values import ByAngle
from ...lang.words import Kind, Take
from ...stdlib.fingers import clear_size, inside_diameter, size_hint, within_reach
from .common import length

INNER_BEND = 0.3  # mm: the least radius to which the inner edge of what bows may bend: a half-round file's


def finger(call: Call) -> float:
    """Inside diameter, mm, from `inside` or `finger "us 7"`."""
    if call.given("inside"):
        return call.get("inside")
    words = call.get("finger").split(None, 1)
    if len(words) != 2:
        call.refuse(
            "finger-size", f'"{call.get("finger")}" does not name a scale and a size', "finger",
            remedy=size_hint(call.get("finger")),
        )
    diameter, problem = inside_diameter(words[0].lower(), words[1])
    if diameter is None:
        european = words[0].lower() == "eu" and inside_diameter("iso", words[1])[0]
        near = f"iso {words[1]}" if european else within_reach(words[0].lower(), words[1])
        other = f"write {near}" if near else "as in iso 54, us 7, uk N 1/2 or jp 14"
        call.refuse("finger-size", problem, "finger", remedy=other)
    return diameter


def in_mm(call: Call, inside: float) -> Call:
    """The line with an opening told in degrees as it is in mm, straight from end to end."""
    said = call.get("open")
    if not isinstance(said, ByAngle):
        return call
    if said.degrees <= 0:
        call.refuse(
            "out-of-range", "a band stands open by an angle above nothing", "open",
            seen=f"{said.degrees:g} deg", limit="more than 0 deg", remedy="leave it out, or give more",
        )
    wide = inside * math.sin(math.radians(min(said.degrees, 180.0)) / 2)
    return replace(call, arguments={**call.arguments, "open": replace(call.arguments["open"], value=wide)})


def finger_takes() -> tuple[Take, Take]:
    """The two ways to say how large a ring is; one of them is needed."""
    return (
        Take("finger", Kind.TEXT, "scale and size: us 7, iso 54, uk N 1/2, jp 14",
             like="us 7", hint=size_hint, unquoted=clear_size),
        length("inside", "inside diameter, in place of a finger size"),
    )


def bow(call: Call, radius: float, wide: float = 0.0) -> float:
    """How far from the head what bows there is level again, radians: by `long`, half the way down on either
    side of it, on what goes round at ``radius`` mm and is ``wide`` mm wide."""
    long, rise = call.get("long"), call.get("wave")
    if long is None:
        return math.pi / 2
    least, most = math.pi * math.sqrt(rise * (wide / 2 + INNER_BEND) / 2), math.pi * radius
    if not least <= long <= most:
        short = long < least
        right = math.ceil(least * 10) / 10 if short else math.floor(most * 10) / 10
        what = "its inner edge would fold" if short else "the way round is shorter"
        call.refuse(
            "clauses-disagree", f"a bow of {rise:g} mm is not {long:g} mm long here: {what}", "long",
            seen=f"{long:g} mm", limit=f"{least:.3g} to {most:.3g} mm", remedy=f"write long {right:g} mm",
        )
    return float(long / radius)


def risings(*never: str, goes_with: tuple[str, ...] = ()) -> tuple[Take, ...]:
    """The ways in which what goes round a finger may stand farther along it at its head."""
    return (
        length(
            "vee",
            "comes to a point at its head, so far along the finger from its back: straight arms, mitred, as "
            "of a chevron or wishbone beside a solitaire", most=12, goes_with=goes_with, not_with=never,
        ),
        length(
            "wave", "bows at its head so far along the finger from its back, in a wave", most=12,
            goes_with=goes_with, not_with=("vee", *never),
        ),
        length(
            "long",
            "length of that wave from half way up to half way down, along its outside: wave 2 mm, long 7 mm "
            "goes round the head of a ring beside it, 6.5 mm across", goes_with=("wave",),
        ),
    )
