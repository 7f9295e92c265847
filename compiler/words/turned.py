"""Bodies turned on the lathe: a profile carried round the axis that looks out."""

from __future__ import annotations

from functools import partial
from typing import Any, NoReturn

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines, Offer, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..geometry.line import ring
from ..geometry.outlines import circle, crosses_itself, fine_segments, signed_area
from ..geometry.surfaces import Turned
from .bodies import BACK, waist
from .common import LARGEST, SMALLEST, body, length, metal
from .spot_lines import drawn

POINTS_LIMIT = 4_000
STEEP = 0.3  # of its way: how far at least a profile rises at an open end that its wall goes on beyond
LEVEL = 1e-6  # mm, within which spots of a profile are at one height, or on its axis


def _turned(bench: PieceBench, call: Call) -> Feature:
    profile = _profile(call)
    low, high = float(profile[:, 1].min()), float(profile[:, 1].max())
    radius = float(profile[:, 0].max())
    shape = Shape("lathe", (tuple(map(tuple, profile.tolist())), radius))
    widest = float(profile[int(np.argmax(profile[:, 0])), 1])
    offers: dict[str, Offer] = {
        "tip": lambda: spot(out=high),
        "foot": lambda: spot(out=low, turn=BACK),
        "around": lambda: Lines((ring(circle(radius, fine_segments(radius)), widest),)),
        "waist": lambda: Lines((waist(circle(radius, fine_segments(radius)), widest),)),
        "across": lambda: mm(2 * radius),
        "height": lambda: mm(high - low),
    }
    for name, height, out in (("rim", high, 1.0), ("back-rim", low, -1.0)):
        ends = float(profile[np.abs(profile[:, 1] - height) < LEVEL, 0].max())
        if ends > LEVEL:
            offers[name] = partial(_edge, ends, height, out)
    around = np.concatenate([profile, profile[:1]]) if call.given("wall") or call.get("hollow") else profile
    return body(bench, call, shape, low, high, offers, surface=Turned(around))


def _edge(radius: float, height: float, out: float) -> Lines:
    return Lines((ring(circle(radius, fine_segments(radius)), height, out),), True)


def _walled(call: Call, path: np.ndarray, loop: np.ndarray) -> np.ndarray:
    """The section of a wall inside a profile (n, 2), open where that ends off the axis."""
    from manifold3d import CrossSection, FillRule, JoinType

    wall, low, high = call.get("wall"), path[:, 1].min(), path[:, 1].max()
    half = CrossSection([loop], FillRule.NonZero)
    whole = half + half.mirror((1.0, 0.0))
    inner = whole
    for end, before in ((path[0], path[1]), (path[-1], path[-2])):
        if end[0] > wall:  # the wall goes on as it comes beyond an open end, to be cut off level there
            go = (end - before) / np.linalg.norm(end - before)
            if abs(go[1]) < STEEP:
                go = np.array([0.0, 1.0 if end[1] - low > high - end[1] else -1.0])
            past = np.maximum(end + go * (3 * wall / abs(go[1])), (0.0, -np.inf))
            strip = CrossSection([[(0.0, end[1]), end, past, (0.0, past[1])]], FillRule.NonZero)
            inner += strip + strip.mirror((1.0, 0.0))
    inner = inner.offset(-wall, JoinType.Miter, 4.0)
    box = CrossSection.square((LARGEST, 4 * LARGEST), True).translate((LARGEST / 2, 0.0))
    found = ((whole - inner) ^ box).to_polygons()
    if (whole ^ inner).is_empty() or len(found) != 1:
        call.refuse(
            "path-crosses-itself", f"a wall of {wall:g} mm leaves nothing hollow, or not one wall", "wall",
            remedy="make the wall thinner, or the body wider",
        )  # fmt: skip
    return np.maximum(found[0], (0.0, -np.inf))


def _profile(call: Call) -> np.ndarray:
    """The section (n, 2) as (from the axis, height), counter-clockwise, closed on the axis."""
    spots = call.get("through")
    if len(spots) < 2:
        _bad(call, "a profile needs two spots or more", "add spots with 'to'")
    path = drawn(spots)[:, :2]
    if path[:, 0].min() < -1e-9:
        call.refuse(
            "profile-crosses-axis", "the profile passes the axis it is turned about", "through",
            seen=f"{path[:, 0].min():.3g} mm", limit="0 mm from the axis, or more",
            remedy="keep the first figure of every spot at 0 or above",
        )
    path[:, 0] = np.maximum(path[:, 0], 0.0)
    if call.get("hollow"):
        loop = path
    else:
        loop = np.concatenate([[(0.0, path[0, 1])], path, [(0.0, path[-1, 1])]])
    if call.given("wall"):
        loop = _walled(call, path, loop)
    loop = np.round(loop[np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1) > 1e-7], 9)
    if len(loop) < 3 or len(loop) > POINTS_LIMIT or np.ptp(loop, axis=0).max() > LARGEST:
        _bad(call, "the profile is no body", "check its spots")
    area = signed_area(loop)
    if (
        abs(area) < SMALLEST**2
        or loop[:, 0].max() < SMALLEST
        or crosses_itself(loop[:: max(1, len(loop) // 600)])
    ):
        _bad(call, "the profile crosses itself or encloses nothing", "run it once round")
    return loop if area > 0 else loop[::-1].copy()


def _bad(call: Call, message: str, remedy: str) -> NoReturn:
    call.refuse("path-crosses-itself", message, "through", remedy=remedy)


WORDS: tuple[Any, ...] = (
    Word(
        "turned",
        "A body turned on the lathe about the axis that looks out. Its profile is a run of spots (from the "
        "axis, height); its ends close straight to the axis.", "shapes",
        (
            Take(
                "through", Kind.POINTS, "the profile from below: (1, 0) to (1, 2 mm) to (0.4, 3 mm)",
                needed=True,
            ),
            Take(
                "hollow", Kind.FLAG, "draw the whole outline of the wall, not only its outside",
                not_with=("wall",),
            ),
            length(
                "wall", "its wall, inside the profile; open where that ends off the axis", of=FigureOf.WALL,
            ),
            *metal(),
        ),
        example="turned knob: through (1, 0 mm) to (1, 2 mm) over (0.7, 2.7 mm) to (0, 3 mm)",
        offers={
            "tip": "the middle of its upper end",
            "foot": "the middle of its lower end, looking down",
            "around": "the path round its widest part",
            "waist": "the same path, looking outward",
            "rim": "the edge of its upper end, a closed path, where it does not end in a point",
            "back-rim": "the edge of its lower end, likewise, looking down",
            "across": "its widest diameter",
            "height": "from foot to tip",
        },
        roles=frozenset({Role.BODY, Role.CUPPED}), made_by=_turned,
    ),
)
