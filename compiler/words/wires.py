"""Wire: along a line with a section, and bent to a jump ring."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.along import LAID, ways
from ..bench.feature import Feature, Lines, Offer, Places, spot
from ..bench.feature import length as mm
from ..bench.hung import HANGS_IN, hung
from ..bench.path import PATH_HELP, path_offers
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed, without
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..bench.within import OPENING_HELP, openings_in
from ..geometry import frames as fr
from ..geometry.facing import turned_to
from ..geometry.line import Line, frozen, ring
from ..geometry.outlines import circle, fine_segments
from ..geometry.tightness import opened
from ..shapes.wire_face import FINE, WireFace
from .common import LARGEST, SMALLEST, body, length, metal, size
from .lines import facing
from .softening import too_deep
from .too_tight import Stretches, not_too_tight

SECTION = FigureOf.SECTION
TIPS = ("flat", "round")
TAPERED = 0.5  # mm, between spots of a line on wire whose height changes
HOLLOW = ("round", "square", "flat")
EDGED = ("square", "flat")
SECTIONS = ("round", "square", "flat", "half-round", "knife-edge")


def _wire(bench: PieceBench, call: Call) -> Feature:
    from ..shapes.makers import wire_section

    frames = placed(without(call, *LAID))
    lines = Lines(tuple(ways(call)))
    if call.given("facing"):
        turned = (turned_to(line, frames[0], call.get("facing")) for line in lines.lines)
        lines = Lines(tuple(turned))
    name = next(key for key in SECTIONS if call.given(key))
    value = call.get(name)
    wide, high = value if isinstance(value, tuple) else (value, value)
    most = max(call.get("taper", (wide,))) / wide
    soften = _soften(call, name, min(wide, high))
    section = wire_section(name, wide * most, high * most, FINE, soften * most)
    lines = Lines(tuple(opened(line, section) for line in lines.lines))
    parts = [not_too_tight(call, line, section, frames[0]) for line in lines.lines]
    widths = _widths(call, lines.lines, wide)
    tips = _tips(call, lines.lines)
    wall = _wall(call, name, min(wide, high) * min(widths))
    feature = bench.new_feature(call, frames)
    for line, stretches in zip(lines.lines, parts, strict=True):
        further = widths, tips and not line.closed, wall, soften
        for shape in swept(line, (name, wide, high), stretches, *further):
            bench.add(feature, shape, frames, call.get("metal"))
    feature.offers = _offers(lines.lines, wide, high, widths)
    feature.offers |= openings_in(feature, lines.lines, wide, high)
    if name in EDGED and len(widths) == 1:
        level = wide - 2 * soften
        outer = feature.offers["outer"]
        feature.offers["edges"] = lambda: Lines(tuple(_edges(outer().lines, level, tips)), True)
    feature.surface = WireFace(lines.lines[0], name, wide, high, widths, soften)
    return feature


def swept(
    line: Line, section: tuple[str, float, float], stretches: Stretches, widths: tuple[float, ...] = (1.0,),
    tips: bool = False, wall: float = 0.0, soften: float = 0.0,
) -> list[Shape]:
    """The wire of these figures, in as many parts as it has stretches that do not cross themselves."""
    usual: tuple[object, ...] = ((1.0,), False, None, 0.0, 0.0)
    made = []
    for between in stretches or (None,):
        said = [widths, tips, between, wall, soften]
        while said and said[-1] == usual[len(said) - 1]:
            said.pop()
        made.append(Shape("wire", (frozen(line), *section, *said)))
    return made


def _wall(call: Call, name: str, least: float) -> float:
    """The wall of a tube, 0 for solid wire; ``least`` is what it measures where it is thinnest, mm."""
    wall: float = call.get("wall", 0.0)
    if not wall:
        return 0.0
    if name not in HOLLOW:
        call.refuse(
            "clauses-disagree", f"{name} wire has no wall", "wall", remedy="leave it out, or take round wire"
        )
    if wall > 0.45 * least:
        call.refuse(
            "no-wall", f"a wall of {wall:g} mm leaves no hollow", "wall", seen=f"{wall:g} mm",
            limit=f"at most {0.45 * least:.3g} mm", remedy="make it thinner, or leave wall out",
        )
    return wall


def _soften(call: Call, name: str, least: float) -> float:
    """How far the edges are rounded, mm, of wire that measures ``least`` the thinner way."""
    soften: float = call.get("soften", 0.0)
    if soften and name not in EDGED:
        call.refuse(
            "clauses-disagree", f"only flat and square wire has edges to soften, not {name} wire", "soften",
            remedy="leave it out, or take flat wire",
        )
    most = math.floor(49 * least) / 100
    if soften > most:
        told = f"soften {soften:g} mm takes more than wire {least:g} mm thick has"
        too_deep(call, "soften", told, f"{most:g} mm", most, ", or take thicker or round wire")
    return soften


def _tips(call: Call, lines: tuple[Line, ...]) -> bool:
    tips = call.get("tips") == "round"
    if tips and all(line.closed for line in lines):
        call.refuse(
            "path-closed", "a closed path has no ends to round", "tips",
            remedy="leave tips out, or take an open path",
        )
    return bool(tips)


def _widths(call: Call, lines: tuple[Line, ...], wide: float) -> tuple[float, ...]:
    """The widths of `taper` as shares of the section's."""
    said = call.get("taper")
    if said is None:
        return (1.0,)
    shares = tuple(one / wide for one in said)
    shares = (1.0, *shares) if len(shares) == 1 else shares
    if abs(shares[0] - shares[-1]) > 1e-9 and any(line.closed for line in lines):
        call.refuse(
            "path-closed", "wire cannot taper along a closed path: its end meets its start", "taper",
            remedy="leave taper out, end it as it begins (1 mm to 2 mm to 1 mm), or take an open path",
        )
    return shares


def _offers(
    lines: tuple[Line, ...], wide: float, high: float, widths: tuple[float, ...]
) -> dict[str, Offer]:
    offers = path_offers(lines[0], high / 2)
    offers["path"] = lambda: Lines(lines)
    offers["outer"] = lambda: Lines(tuple(_risen(line, high / 2, widths) for line in lines))
    offers["inner"] = lambda: Lines(tuple(_risen(line, -high / 2, widths) for line in lines))
    offers["wide"] = lambda: mm(wide)
    offers["thick"] = lambda: mm(high)
    return offers


def _risen(line: Line, by: float, widths: tuple[float, ...]) -> Line:
    """The line on the outer side of a wire, or on its inner one, looking away from the metal there, which
    rises with the ``widths`` of the wire, shares of its own."""
    if len(widths) > 1:
        line = line.fine(TAPERED)
    along = np.r_[0.0, np.cumsum(np.linalg.norm(line.chords(), axis=1))][: len(line.points)] / line.length()
    rise = by * np.interp(along, np.linspace(0.0, 1.0, len(widths)), widths)[:, None]
    if by > 0:
        return Line(line.points + rise * line.outs, line.outs, line.closed)
    back = slice(None, None, -1 if line.closed else 1)
    return Line((line.points + rise * line.outs)[back], -line.outs[back], line.closed)


@dataclass(frozen=True, eq=False)
class Level:
    """A face that looks one way all over: a line on it is moved to its left, whichever way it is drawn."""

    out: np.ndarray

    def laid(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The points (n, 3) as they are, and the way the face looks at each."""
        return points, np.tile(self.out, (len(points), 1))


def _edges(outer: tuple[Line, ...], wide: float, tips: bool) -> Iterator[Line]:
    """The two edges of the outer side of wire, inward being toward its middle, from where a round tip ends
    to where the other begins."""
    for whole in outer:
        tip = min(wide / 2 / whole.length(), 0.45)
        line = whole.part(tip, 1.0 - tip) if tips and not whole.closed else whole
        for edge, back in ((line.moved_sharp(wide / 2), True), (line.moved_sharp(-wide / 2), False)):
            if edge is not None:
                way = slice(None, None, -1 if back else 1)
                flat = np.ptp(line.outs, axis=0).max() < 1e-9
                level = (Level(line.outs[0]), fr.identity()[0]) if flat else None
                yield Line(edge.points[way], edge.outs[way], edge.closed, level)


def _jump_ring(bench: PieceBench, call: Call) -> Feature:
    wire, inside = call.get("wire"), call.get("inside")
    middle = (inside + wire) / 2
    shape = Shape("loop", (wire, inside))
    offers: dict[str, Offer] = {
        "path": lambda: Lines((ring(circle(middle, fine_segments(middle)), 0.0),)),
        "centre": lambda: spot(),
        "ends": lambda: _sides(middle + wire / 2),
        "inside": lambda: mm(inside),
        "outside": lambda: mm(inside + 2 * wire),
        "wire": lambda: mm(wire),
    }
    if not call.given("hangs-in"):
        made = body(bench, call, shape, -wire / 2, wire / 2, offers)
        made.opening = (inside, wire)
        return made
    made = Feature(call.name, call.word.name, -1, fr.identity(), opening=(inside, wire))
    frames = hung(call, [(made, made.frames)], bench, alone=True)
    made = bench.new_feature(call, frames)
    bench.add(made, shape, frames, call.get("metal"))
    made.offers, made.low, made.high, made.opening = offers, -wire / 2, wire / 2, (inside, wire)
    made.hangs = True
    return made


def _sides(radius: float) -> Places:
    right = fr.shifted(right=radius)
    return Places(np.concatenate([right, fr.compose(fr.flipped(0), right)]))


WORDS = (
    Word(
        "wire", "Wire that follows a path, centred on it.", "shapes",
        (
            Take("along", Kind.PATH, "the path it follows", needed=True),
            length("round", "round wire of this diameter", of=SECTION),
            length("square", "square wire; twisted about itself: the word twist", of=SECTION),
            size("flat", "flat wire: across the path x outward", 2, of=SECTION),
            size("half-round", "half-round wire, its flat side inward: across x outward", 2, of=SECTION),
            size("knife-edge", "three-cornered wire, its edge outward: across x outward", 2, of=SECTION),
            facing(),
            Take(
                "taper", Kind.LENGTHS,
                "its width at the end of the path, thinning evenly from the start; or all its widths from "
                "start to end, in place of that: 1 mm to 2.4 mm to 1 mm. Its height keeps step",
                least=SMALLEST, most=LARGEST,
            ),
            length(
                "wall", "bent of tube, round, square or flat: its wall", of=FigureOf.WALL, not_with=("tips",)
            ),
            length("soften", "rounds the four edges of flat or square wire by this radius"),
            Take("tips", Kind.CHOICE, "shape of its ends", default="flat", choices=TIPS),
            *metal(),
        ),
        one_of=(SECTIONS,), example="wire stem: along wave, round 1.2 mm",
        offers={
            **PATH_HELP,
            "outer": "the path along its outer side, to engrave or to lay things on",
            "inner": "the path along its inner side",
            "opening": OPENING_HELP,
            "edges": "of flat or square wire that does not taper: both edges of its outer side, or of what "
            "soften leaves of it, inward being toward its middle; they end where a round tip begins",
            "wide": "across the path",
            "thick": "outward",
        },
        stands=False, roles=frozenset({Role.WIRE}), made_by=_wire,
    ),
    Word(
        "jump-ring", "A closed ring of round wire, lying flat about its centre.", "findings",
        (
            length("wire", "thickness of the wire", needed=True),
            length("inside", "inside diameter", needed=True),
            size("chain", "the chain's end ring that has to go through, outside x wire: 4 x 0.8 mm", 2),
            HANGS_IN,
            *metal(),
        ),
        example="jump-ring link: wire 1 mm, inside 4 mm",
        offers={
            "path": "the middle of its wire, a closed path",
            "centre": "the middle of its hole",
            "ends": "its right and left sides",
            "inside": "inside diameter",
            "outside": "outside diameter",
            "wire": "thickness of the wire",
        },
        roles=frozenset({Role.FINDING}), made_by=_jump_ring,
    ),
)
