"""More that goes round a finger: the signet ring and the split shank."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Lines, Places, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..bench.plan import Shape
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..geometry.line import Line, frozen, ring
from ..geometry.outlines import Outline, fine_segments, trace
from ..geometry.surfaces import Flat
from ..shapes.sections import Profile
from ..shapes.shank import Shank, at_back
from ..shapes.shank_face import Round
from ..shapes.signet import Table, flank_at, foot
from ..shapes.split import WELD, Split
from ..shapes.wire_face import Strands, WireFace
from .common import length, metal, size
from .contour import CONTOUR, CONTOURS, contour
from .cutting import PAST, THROUGH
from .finger_clauses import finger, finger_takes
from .fingers import band_offers, two

ALONG_FINGER = fr.turned(0, 90.0)  # a tool standing on x-y turned to lie along the finger


def bored(radius: float) -> Shape:
    """The plug that clears a finger hole of this radius, mm, standing on x-y."""
    return Shape("prism", (("circle", 2 * radius), -THROUGH, THROUGH))


def _signet(bench: PieceBench, call: Call) -> Feature:
    inside = finger(call)
    outline = contour(bench, call)
    wide, thick, high = call.get("wide"), call.get("thick"), call.get("height")
    inner, outer = inside / 2, inside / 2 + thick
    _fits(call, outline, inner, outer, high)
    frames = placed(call, inner + high)
    feature = bench.new_feature(call, frames)
    feature.low, feature.high = -outer, inner + high
    back = at_back(call.get("taper"), wide, thick)
    # The shank is made a little tight, and bored to size with the head on it: no step inside.
    tight = 2 * PAST
    shank = (inside - 2 * tight, wide, thick + tight, back[0], back[1] + tight)
    section = (call.get("profile"), False, 0.0, False)
    bench.add(feature, Shape("shank", (*shank, section, 0.0)), frames, call.get("metal"))
    feature.table = (outline, inner + high, *_shoulder(call, outline, inner, back))
    bench.add(feature, Shape("table", feature.table), frames, call.get("metal"))
    assert feature.body is not None
    bench.cut(feature, bored(inner), fr.compose(frames, ALONG_FINGER), (feature.body,))
    made = Shank(inside, wide, thick, back[0], back[1], Profile(call.get("profile")))
    _signet_offers(feature, outline, made, high)
    return feature


def _shoulder(
    call: Call, outline: Outline, inner: float, back: tuple[float, ...]
) -> tuple[float, float, str, float, float]:
    """The shank that the flanks run into: outside radius there, width at the head, profile, inside,
    width at the back."""
    wide, thick, high = call.get("wide"), call.get("thick"), call.get("height")
    made = Shank(2 * inner, wide, thick, back[0], back[1], Profile())
    for _ in range(4):  # where they meet depends a little on the taper, and so the other way round
        x, z = foot(Table(outline, inner + high, inner + thick, wide))
        thick = made.at(math.atan2(x, z))[1]
    return inner + thick, wide, call.get("profile"), inner, back[0]


def _fits(call: Call, outline: Outline, inner: float, outer: float, high: float) -> None:
    """Raises Refused for a table that does not sit on this shank."""
    half = float(np.ptp(trace(outline)[:, 0])) / 2
    key = next(key for key in CONTOURS if call.given(key))
    if half > 0.9 * outer:
        call.refuse(
            "table-too-long",
            f"a table {2 * half:.3g} mm across the hand overhangs a ring {2 * outer:.3g} mm outside", key,
            seen=f"{2 * half:.3g} mm", limit=f"{1.8 * outer:.3g} mm",
            remedy="make its first figure smaller; the second runs along the finger",
        )
    least = max(outer - inner, 0.3)
    if high < least - 1e-9:
        call.refuse(
            "table-too-low", f"a table {high:g} mm above the finger lies below the shank's outside", "height",
            seen=f"{high:g} mm", limit=f"{least:.3g} mm, the shank's thickness",
            remedy=f"write height {least:.3g} mm or more, or make the shank thinner",
        )


def _signet_offers(feature: Feature, outline: Outline, shank: Shank, high: float) -> None:
    top = shank.inside / 2 + high
    band_offers(feature, shank)
    feature.surface = Flat(outline, top)
    feature.offers |= {
        "top": lambda: spot(out=top),
        "face": lambda: spot(out=top),
        "rim": lambda: Lines((ring(trace(outline), top),), True),
        "length": lambda: mm(np.ptp(trace(outline)[:, 0])),
        "width": lambda: mm(np.ptp(trace(outline)[:, 1])),
        "height": lambda: mm(high),
    }
    flank = flank_at(Table(*feature.table), math.pi / 4)
    if flank is not None:
        feature.offers["shoulders"] = lambda: two(Places(flank))
    del feature.offers["edges"]


def _split(bench: PieceBench, call: Call) -> Feature:
    inside = finger(call)
    wide, thick, gap = call.get("wide"), call.get("thick"), call.get("gap")
    start, profile = call.get("from"), call.get("profile")
    if not 10.0 <= start <= 170.0:
        call.refuse(
            "split-angle", f"a shank cannot split {start:g} degrees from its head", "from",
            seen=f"{start:g} deg", limit="10 deg to 170 deg",
        )
    middle = inside / 2 + thick / 2
    grooved = bool(call.get("grooved"))
    split = Split(middle, wide, thick, gap, math.radians(start), bool(call.get("crossed")), grooved)
    strands = split.strands()
    frames = placed(call)
    feature = bench.new_feature(call, frames)
    feature.low, feature.high = -middle - thick / 2, middle + thick / 2 + split.lift
    for shape in _strand_shapes(call, split, grooved):
        bench.add(feature, shape, frames, call.get("metal"))
    band_offers(feature, Shank(inside, wide, thick, wide, thick, Profile()))
    del feature.offers["edges"]
    feature.shank = Shank(inside, wide + gap, thick, wide + gap, thick, Profile())
    faces = tuple(WireFace(strand, profile, wide / 2 + WELD, thick) for strand in strands)
    apart = start / 360.0
    feature.surface = Strands(Round(feature.shank), faces, (-apart, apart))
    feature.offers |= {
        "strands": lambda: Lines(strands),
        "gap": lambda: mm(gap),
        "across": lambda: mm(gap + wide + 2 * WELD),
    }
    shoulders = split.spots(math.pi / 4)
    if len(shoulders):
        feature.offers["shoulders"] = lambda: two(Places(shoulders))
    if split.crossed:
        feature.offers["top"] = lambda: spot(out=middle + thick / 2 + split.lift)
        feature.offers["upper"] = lambda: Lines((split.outside(0),))
        feature.offers["lower"] = lambda: Lines(split.beside_crossing())
    else:
        feature.offers["arms"] = lambda: Lines(_arms(strands, apart, thick / 2))
    return feature


def _strand_shapes(call: Call, split: Split, grooved: bool) -> Iterator[Shape]:
    """The wire of each strand; unless they are ``grooved`` the one shank at the back that they run out in."""
    for strand in split.strands():
        # The two halves lie a hair into each other where they run together.
        figures: tuple[object, ...] = (call.get("profile"), call.get("wide") / 2 + WELD, call.get("thick"))
        if not grooved:
            share = split.end / (2 * math.pi)
            strand = strand.part(-share, share) if strand.closed else strand
            figures += ((1.0,), (split.end - split.run_out) * split.radius)
        yield Shape("wire", (frozen(strand), *figures))
    if not grooved:
        yield _whole_back(call, split)


def _arms(strands: tuple[Line, ...], apart: float, by: float) -> tuple[Line, ...]:
    """The outside of both strands, ``by`` mm over their middle, from the head to where they part (a
    share of the round), on the right and on the left."""
    found = []
    for strand in strands:
        raised = Line(strand.points + by * strand.outs, strand.outs, True)
        left = raised.part(-apart, 0.0)
        found += [raised.part(0.0, apart), Line(left.points[::-1], left.outs[::-1], False)]
    return tuple(found)


def _whole_back(call: Call, split: Split) -> Shape:
    """One shank over both strands at the back, that runs out between them where they part."""
    start, radius = split.crotch, split.radius
    count = fine_segments(radius)
    angle = np.linspace(start, 2 * math.pi - start, count)
    outs = np.stack([np.sin(angle), np.zeros(count), np.cos(angle)], axis=1)
    line = Line((radius + OVER_STRANDS) * outs, outs, False)
    wide = call.get("wide") + 2 * OVER_STRANDS
    far = (split.full - start) * radius
    return Shape("wire", (frozen(line), call.get("profile"), wide, call.get("thick"), (1.0,), far))


# How far the shank at the back lies over the strands, mm: surfaces that only touch leave slivers.
OVER_STRANDS = 0.01


ROUND_HELP = {
    "bottom": "the middle of its back, on the outside",
    "shoulders": "right and left of the head, half way down to the side",
    "around": "the path round the outside of its shank",
    "inside-around": "the path round its inside",
    "inside": "inside diameter",
    "outside": "outside diameter of its shank",
    "wide": "width of its shank",
    "thick": "thickness of its shank",
}


WORDS = (
    Word(
        "signet",
        "A ring with a flat table of any outline, across the hand x along the finger, to engrave or to set "
        "stones in; its flanks flow into the shank.", "shapes",
        (
            *finger_takes(),
            *CONTOUR,
            length("height", "metal between finger and table, at its middle", needed=True),
            length("wide", "width of the shank at the head", needed=True),
            length("thick", "thickness of the shank at the head", needed=True),
            size("taper", "width of the shank at its back, or width x thickness, as 3 x 1.6 mm", 1, 2),
            Take(
                "profile", Kind.CHOICE, "section of the shank", default="flat",
                choices=("flat", "court", "d", "half-round", "knife-edge"),
            ),
            *metal(),
        ),
        one_of=(("finger", "inside"), CONTOURS),
        example='signet seal: finger "us 10", oval 12 x 14 mm, height 2.6 mm, wide 5 mm, '
        "thick 2 mm, taper 3 x 1.6 mm",
        offers={
            "top": "the middle of its table",
            "face": "the middle of its table",
            "rim": "the edge of its table",
            "length": "of the table, across the hand",
            "width": "of the table, along the finger",
            "height": "metal between finger and table",
            **ROUND_HELP,
        },
        roles=frozenset({Role.BODY, Role.SHANK, Role.OPENS}), made_by=_signet,
    ),
    Word(
        "split-shank",
        "A shank that is one at the back and parts into two strands toward the head, or crosses them there.",
        "shapes",
        (
            *finger_takes(),
            length("wide", "width at the back, of both strands", needed=True),
            length("thick", "from finger to outside", needed=True),
            length("gap", "how far the strands stand apart at the head", needed=True, of=FigureOf.PARTED),
            Take("from", Kind.ANGLE, "where they part, seen from the head", default="75 deg"),
            Take("grooved", Kind.FLAG, "two strands at the back too, a groove between them"),
            Take(
                "crossed", Kind.FLAG,
                "the strands cross on top, as an X; 'gap' is then how far they stand apart beside it",
                not_with=("grooved",),
            ),
            Take(
                "profile", Kind.CHOICE, "section of each strand", default="d",
                choices=("flat", "d", "half-round"),
            ),
            *metal(),
        ),
        one_of=(("finger", "inside"),),
        example='split-shank shank: finger "us 6", wide 3 mm, thick 1.7 mm, gap 3 mm',
        offers={
            "top": "the middle of its head, between the strands",
            "strands": "the paths in the middle of the metal of both strands: 0 % is at the head, 50 % at "
            "the back by way of the right, -50 % by way of the left",
            "arms": "the four paths on the outside of its strands, where stones lie: right and left of the "
            "head, each from there (0 %) to where the strands part (100 %)",
            "upper": "where they cross: the path on the outside of the strand that passes over, from left to "
            "right: stones may lie on all of it",
            "lower": "where they cross: the two paths on the outside of the strand that passes under, left "
            "and right of the other: stones along them lie clear of it",
            "gap": "how far they stand apart at the head",
            "across": "over both strands at the head",
            **ROUND_HELP,
            "shoulders": "half way down to the side, four places: right and left, on each strand; two where "
            "these are one there",
        },
        roles=frozenset({Role.BODY, Role.SHANK}), made_by=_split,
    ),
)
