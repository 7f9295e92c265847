"""Rings for the finger: the band, lying in the x-z plane with its head at +z."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines, Places
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.outlines import circle, fine_segments
from ..shapes.sections import Profile, belly_of
from ..shapes.shank import Shank, at_back
from ..shapes.shank_face import Round
from .common import body, length, metal, size
from .finger_clauses import finger, finger_takes, in_mm, risings
from .fitting import Course, fitted, fitting, said
from .softening import too_deep

PROFILES = ("flat", "court", "d", "half-round", "knife-edge")
PROFILE_HELP = (
    "its section: d, an arc over edges of half the thickness; court, the same, its inside falling "
    "away by 15 % of the thickness; half-round, an arc from edge to edge; knife-edge, two slopes "
    "from half the thickness"
)

OPEN_HELP = (
    "stands open so far at the back, as a cuff; its 'ends' are there; or by the angle between them, as 60 deg"
)


def _band(bench: PieceBench, call: Call) -> Feature:
    inside = finger(call)
    call = in_mm(call, inside)
    wide, thick = call.get("wide"), call.get("thick")
    _fits(call, inside, wide, thick)
    course, ground = said(call, inside, wide, thick), None
    if call.given("next-to"):
        level = Course(0.0, False, math.pi / 2)
        course, ring = fitted(bench, call, _shank(call, inside, wide, thick, level))
        ground = fr.compose(ring, fr.shifted(up=course.up))
    shank = _shank(call, inside, wide, thick, course)
    outer = inside / 2 + thick
    made = body(bench, call, _shape(call, shank), -outer, outer, {}, ground=ground)
    band_offers(made, shank)
    made.surface = Round(shank)
    return made


def _shank(call: Call, inside: float, wide: float, thick: float, course: Course) -> Shank:
    """The band as a shank, tapered or not, on its course."""
    by = call.get("soften") or call.get("bevel") or 0.0
    profile = Profile(call.get("profile"), bool(call.get("comfort")), by, call.given("bevel"))
    if call.given("edge"):
        profile = replace(profile, edge=_edge_share(call, profile, thick))
    back_wide, back_thick = at_back(call.get("taper"), wide, thick)
    toward = _toward(call)
    start = math.radians(call.get("from", 0.0))
    opening = call.get("open", 0.0) * (-1 if call.get("at-head") else 1)
    made = (inside, wide, thick, back_wide, back_thick, profile, opening, start, toward)
    return Shank(*made, course.rise, course.pointed, course.bow)


def _edge_share(call: Call, profile: Profile, thick: float) -> float:
    """The share of its thickness that a domed band keeps at its edges."""
    high, edge = thick - belly_of(profile, thick), call.get("edge")
    if profile.name in ("flat", "half-round"):
        call.refuse(
            "clauses-disagree", f"a {profile.name} band has edges of its own", "edge",
            remedy="leave it out, or say 'profile d', 'court' or 'knife-edge'",
        )
    if edge > 0.95 * high:
        call.refuse(
            "clauses-disagree", f"edges of {edge:g} mm leave no dome on a band {thick:g} mm thick", "edge",
            seen=f"{edge:g} mm", limit=f"{0.95 * high:.3g} mm",
            remedy="make them thinner, or the band thicker",
        )
    return float(edge / high)


def _toward(call: Call) -> str:
    """The profile a band comes to at its back, "" where it keeps its own."""
    toward = call.get("toward", "")
    if toward and "knife-edge" in (toward, call.get("profile")):
        call.refuse(
            "clauses-disagree", "a knife edge does not flow into another section", "toward",
            remedy="leave it out, or take flat, d, court or half-round for both",
        )
    if toward and (call.given("soften") or call.given("bevel")):
        call.refuse(
            "clauses-disagree", "the edges of a band whose section changes are not taken off", "toward",
            remedy="leave out soften and bevel, or toward",
        )
    return toward


def _shape(call: Call, shank: Shank) -> Shape:
    section = shank.profile
    plainly = section.edge is None and not (section.soften or shank.toward or shank.rise)
    if plainly and not (call.given("taper") or call.given("open")):
        plain = (shank.inside, shank.wide, shank.thick, section.name, section.comfort)
        return Shape("band", plain)
    return Shape("shank", shank.figures)


def _fits(call: Call, inside: float, wide: float, thick: float) -> None:
    back_wide, back_thick = at_back(call.get("taper"), wide, thick)
    gap = call.get("open", 0.0)
    if gap >= 0.95 * inside:
        call.refuse(
            "band-too-open", f"a band {inside:.3g} mm inside cannot stand {gap:g} mm open", "open",
            seen=f"{gap:g} mm", limit=f"{0.95 * inside:.3g} mm", remedy="make the opening smaller",
        )
    by = call.get("soften") or call.get("bevel") or 0.0
    if not by:
        return
    key = "soften" if call.given("soften") else "bevel"
    if call.get("profile") != "flat":
        call.refuse(
            "clauses-disagree", f"only a flat band has edges to {key}", key,
            remedy="leave it out, or say 'profile flat'",
        )
    most = min(wide / 2, back_wide / 2, 0.8 * min(thick, back_thick))
    if by <= most + 1e-9:
        return
    too_deep(call, key, f"{key} {by:g} mm takes more than the band has", f"{most:.3g} mm", most)


def band_offers(feature: Feature, shank: Shank) -> None:
    """What everything that goes round a finger offers: its places and lines, on the metal."""
    face = Round(shank)
    feature.shank = shank
    feature.offers |= {
        "top": lambda: Places(face.middle(0.0)),
        "bottom": lambda: Places(face.middle(math.pi)),
        "shoulders": lambda: two(Places(face.middle(math.pi / 4))),
        "around": lambda: Lines((_on(face, _round(shank, face.crest, shank.lift)),)),
        "inside-around": lambda: Lines((_inside(shank),)),
        "edges": lambda: Lines((_edge(shank, -1.0), _edge(shank, 1.0)), True),
        "inside": lambda: mm(shank.inside),
        "outside": lambda: mm(shank.inside + 2 * shank.thick),
        "wide": lambda: mm(shank.wide),
        "thick": lambda: mm(shank.thick),
    }
    if shank.open:
        feature.offers["ends"] = lambda: Places(_ends(face).frames, of_line=True)


def _ends(face: Round) -> Places:
    """The middles of the two ends of an open shank, the right one first, x pointing away from it."""
    made = face.shank
    angle = made.home + made.reach()
    radius = made.inside / 2 + made.at(angle)[1] / 2
    turn = fr.compose(fr.turned(1, math.degrees(angle)), fr.shifted(0.0, made.lift(angle), radius))
    found = two(Places(turn))
    return found if made.open > 0 else Places(found.frames[::-1])


def _edge(shank: Shank, side: float) -> Line:
    """The line round one edge of the outside; its inner side is that of the band's middle."""
    face = Round(shank)
    line = _round(shank, lambda a: face.edge(a)[0], lambda a: shank.lift(a) + side * face.edge(a)[1])
    return _on(face, _turned_back(line) if side > 0 else line)


def _on(face: Round, line: Line) -> Line:
    """A line that stays on the outside of its shank when it is moved to its side."""
    return Line(line.points, line.outs, line.closed, (face, fr.identity()[0]))


def _turned_back(line: Line) -> Line:
    """A closed line the other way round, from the same start."""
    points, outs = (np.roll(one[::-1], 1, axis=0) for one in (line.points, line.outs))
    return Line(points, outs, True)


def two(right: Places) -> Places:
    """A place at the right of a ring, and its mirror image at the left."""
    return Places(np.concatenate([right.frames, fr.compose(fr.flipped(0), right.frames)]))


def _round(
    shank: Shank, radius: Callable[[float], float], up: Callable[[float], float] = lambda _: 0.0
) -> Line:
    """The line round the shank at a radius for each angle, starting at the head, looking outward."""
    flat = circle(1.0, fine_segments(shank.inside / 2 + shank.thick))
    outs = np.stack([flat[:, 1], np.zeros(len(flat)), flat[:, 0]], axis=1)
    angles = np.arctan2(flat[:, 1], flat[:, 0]).tolist()
    points = outs * np.array([radius(angle) for angle in angles])[:, None]
    points[:, 1] = [up(angle) for angle in angles]
    return Line(points, outs, True)


def _inside(shank: Shank) -> Line:
    """The line round the inside, starting at the head, looking at the finger."""
    bore = Shank(shank.inside, 1.0, 0.0, 1.0, 0.0, Profile())
    back = _turned_back(_round(bore, lambda _: shank.inside / 2, shank.lift))
    return Line(back.points, -back.outs, True)


# What every ring for the finger offers, however it was made.
BAND_HELP = {
    "top": "the middle of its head, on the outside",
    "bottom": "the middle of its back, on the outside",
    "shoulders": "right and left of the head, half way down to the side",
    "around": "the path round its outside; moved up, down or to its side it stays on that face, "
    "domed or flat",
    "inside-around": "the path round its inside",
    "edges": "the two paths round its outer edges, inward being toward its middle; moved in they stay on "
    "the outside",
    "inside": "inside diameter",
    "outside": "outside diameter",
    "wide": "along the finger",
    "thick": "from finger to outside",
}

WORDS = (
    Word(
        "band",
        "The shank of a ring, by finger size. Its head looks out, toward you; the finger goes through it "
        "from below.", "shapes",
        (
            *finger_takes(),
            length("wide", "along the finger", needed=True),
            length("thick", "from finger to outside", needed=True),
            Take("profile", Kind.CHOICE, PROFILE_HELP, default="flat", choices=PROFILES),
            Take(
                "comfort", Kind.FLAG,
                "rounds the inside too: it falls away at its edges by 15 % of the thickness",
            ),
            size(
                "taper",
                "width at the back, or width x thickness, as 2 x 1.5 mm; between, as the cosine of the angle "
                "from the head, without a crease at head or back", 1, 2,
            ),
            length("edge", "thickness that a domed band keeps at its edges: the rest is its dome"),
            Take(
                "toward", Kind.CHOICE, "the section it comes to at the back, flowing from that of the head",
                choices=PROFILES[:-1],
            ),
            Take(
                "from", Kind.ANGLE,
                "how far from the head it begins to taper or change: straight over the set part", least=0.0,
                most=150.0, goes_with=("taper", "toward"),
            ),
            length("soften", "rounds the outer edges of a flat band by this radius", not_with=("bevel",)),
            length("bevel", "takes the outer edges of a flat band off straight"),
            replace(length("open", OPEN_HELP), by_angle=True),
            Take(
                "at-head", Kind.FLAG,
                "stands open at its head instead, as a ring whose ends carry a stone or a ball each",
                goes_with=("open",),
            ),
            *risings("open"),
            *fitting(),
            *metal(),
        ),
        one_of=(("finger", "inside"),),
        example='band shank: finger "us 7", wide 3 mm, thick 1.8 mm, profile d', offers=BAND_HELP,
        roles=frozenset({Role.BODY, Role.SHANK, Role.EVEN_SHANK}), made_by=_band,
    ),
)
