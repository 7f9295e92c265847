"""Bending flat metal: round the finger, and over a ball in the doming block."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, spot
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..bench.plan import Step
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.bend import Bend
from ..geometry.outlines import trace
from ..shapes.sections import Profile
from ..shapes.shank import Shank
from .common import length
from .finger_clauses import finger, finger_takes
from .fingers import BAND_HELP, band_offers
from .joints import open_joints, with_whole_ends

ROUND = 0.3  # of the way round, from which bent metal has a hole that a finger or a wrist goes through
SNUG = 0.05  # how far a strip may be from the length that closes, as a share of it


def _flat_bodies(source: Feature) -> list[Feature]:
    """The straight-sided bodies of a feature or group, outermost first."""
    found = [source] if source.outline is not None and source.body is not None else []
    return found + [one for part in source.parts for one in _flat_bodies(part)]


def _outlines(bodies: list[Feature], base: np.ndarray) -> list[np.ndarray]:
    """Points (n, 3) on the outline of each flat body, as they lie seen from a (1, 3, 4) frame."""
    back = fr.inverse(base[0])[None]
    found = []
    for one in bodies:
        assert one.outline is not None
        flat = trace(one.outline)
        space = np.column_stack([flat, np.full(len(flat), one.low)])
        found += [fr.apply(frame, space) for frame in fr.compose(back, one.frames)]
    return found


def _flat(call: Call, source: Feature, base: np.ndarray) -> tuple[list[np.ndarray], float]:
    """Outlines of the flat metal, seen from ``base``, and its thickness. Raises Refused when there is
    none to bend."""
    bodies = _flat_bodies(source)
    if not bodies and source.bent_into:
        call.refuse(
            "not-bendable", f"the metal of {source.name} is used up: it is {source.bent_into} now", "of",
            remedy=f"say 'copy {call.name}: of {source.bent_into}' for another like it; of another bend, "
            "write its flat metal again",
        )
    if not bodies:
        call.refuse(
            "not-bendable", f"{source.name} holds no flat metal", "of",
            remedy="name a bar, disc or plate, or a workpiece with one",
        )
    thick = call.get("thick", bodies[0].high - bodies[0].low)
    outlines = _outlines(bodies, base)
    if abs(float(outlines[0][:, 2].min())) > 1e-6:
        call.refuse(
            "not-bendable", f"{bodies[0].name} does not lie with its back on the ground", "of",
            remedy=(
                "bend it first and place what was made: 'at' and the offsets work on this line"
            ),
        )
    return outlines, thick


def _overlap(outlines: list[np.ndarray], around: float) -> bool:
    """Whether flat metal would lie on itself once it is bent: what is ``around`` mm further on, once
    or more often, comes to the same place, and must pass beside it."""
    from manifold3d import CrossSection, FillRule

    flat = CrossSection([one[:, :2] for one in outlines], FillRule.NonZero)
    low, _, high, _ = flat.bounds()
    turns = range(1, int((high - low) / around) + 1)
    return any((flat ^ flat.translate((turn * around, 0.0))).area() > 0.0 for turn in turns)


def _round(bench: PieceBench, call: Call) -> Feature:
    inside = finger(call)
    source: Feature = call.get("of")
    base = fr.identity()
    outlines, thick = _flat(call, source, base)
    spots = np.concatenate(outlines)
    around = math.pi * (inside + thick)
    long = float(np.ptp(spots[:, 0]))
    closed = bool(call.get("closed"))
    if closed and abs(long / around - 1) > SNUG:
        _wrong_length(call, long, around, "differs by more than 5 % from")
    if not closed and long > around * 0.9999 and _overlap(outlines, around):
        _wrong_length(call, long, around, "lies on itself past")
    ready: Callable[[list[Step]], tuple[Step, ...]] = tuple
    if closed:
        ends = float(spots[:, 0].min()), float(spots[:, 0].max())
        open_at = [*open_joints(bench.steps_of(source), ends, fr.identity())]
        if open_at:
            _open_joint(call, bench.features[open_at[0]].name)
        ready = partial(with_whole_ends, ends=ends, outer=fr.identity())
    bend = Bend("round", inside / 2, thick, around / long if closed else 1.0, closed)
    frames = placed(call)
    made = bench.new_feature(call, frames)
    _bent(bench, call, made, source, bend, base, ready)
    made.surface, made.grounds = source.surface, source.grounds
    wide = float(np.ptp(spots[:, 1]))
    outer = inside / 2 + thick
    band_offers(made, Shank(inside, wide, thick, wide, thick, Profile()))
    if long < ROUND * around:
        del made.offers["inside-around"]
    made.low, made.high = -outer, outer
    return made


def _wrong_length(call: Call, long: float, around: float, how: str) -> NoReturn:
    call.refuse(
        "strip-length", f"the strip is {long:.4g} mm long, which {how} the {around:.4g} mm round this finger",
        "closed" if call.given("closed") else "of", seen=f"{long:.4g} mm",
        limit=f"{around:.4g} mm: pi x (inside diameter + thickness)",
        remedy=f"make the strip {around:.4g} mm long, or turn it, so that its ends pass beside each other",
    )


def _open_joint(call: Call, name: str) -> NoReturn:
    call.refuse(
        "open-joint",
        f"the ends of {name} are rounded or bevelled where they meet: a notch would be left across the ring",
        "closed", remedy="leave soften, bevel or corner out, or take a bar, whose ends are kept whole",
    )


def _dap(bench: PieceBench, call: Call) -> Feature:
    source: Feature = call.get("of")
    if len(source.frames) > 1:
        call.refuse(
            "too-many-copies", "one piece of metal is domed at a time", "of",
            seen=f"{len(source.frames)} copies of {source.name}", limit="1",
            remedy="dome one and repeat it with copy or wheel; a workpiece of all is one dome",
        )
    base = source.frames
    outlines, thick = _flat(call, source, base)
    spots = np.concatenate(outlines)
    radius = call.get("ball") / 2
    away = float(np.linalg.norm(spots[:, :2], axis=1).max())
    most = (radius + thick / 2) * math.pi / 2
    if away > most:
        call.refuse(
            "dome-too-deep",
            f"metal reaching {away:.3g} mm from the middle goes more than half round this ball", "ball",
            seen=f"{away:.3g} mm", limit=f"{most:.3g} mm",
            remedy=f"take a ball of {2 * (2 * away / math.pi - thick / 2):.3g} mm or more",
        )
    bend = Bend("ball", radius, thick, cupped=bool(call.get("cupped")))
    frames = fr.rounded(fr.compose(placed(call), base))
    made = bench.new_feature(call, frames)
    _bent(bench, call, made, source, bend, base)
    made.surface, made.grounds = source.surface, source.grounds
    drop = (radius + thick) * (1 - math.cos(away / bend.neutral))
    made.offers = {
        "face": lambda: spot(out=thick),
        "back": lambda: spot(turn=fr.turned(1, 180.0)),
        "rise": lambda: mm(drop),
    }
    made.low, made.high = (0.0, thick + drop) if bend.cupped else (-drop, thick)
    return made


def _bent(
    bench: PieceBench, call: Call, made: Feature, source: Feature, bend: Bend, base: np.ndarray,
    ready: Callable[[list[Step]], tuple[Step, ...]] = tuple,
) -> None:
    if len(made.frames) > 1:
        call.refuse(
            "too-many-copies", "one piece of metal is bent once", seen=f"{len(made.frames)} places",
            limit="1", remedy="make copies of it with copy or turn",
        )
    if not bench.bend(made, source, bend, made.frames, base, ready):
        call.refuse(
            "no-metal", f"{source.name} has no metal to bend", "of",
            remedy="name a bar, disc, plate or workpiece made above in this block",
        )


WORDS = (
    Word(
        "bend",
        "Bends flat metal round the finger, with all that is on it. Its back comes to the finger, its "
        "middle to the head.", "work",
        (
            Take("of", Kind.PART, "a bar, a plate, or a workpiece with one, lying flat", needed=True),
            *finger_takes(),
            length("thick", "thickness of the strip, where it is not that of its bar or plate"),
            Take(
                "closed", Kind.FLAG,
                "the ends meet and are soldered: a strip within 5 % is fitted, and the rims of a bar run on "
                "over the joint",
            ),
        ),
        one_of=(("finger", "inside"),), example='bend ring: of strip, finger "us 7", closed',
        offers=BAND_HELP, roles=frozenset({Role.CUT, Role.CUPPED}), made_by=_round,
    ),
    Word(
        "dap",
        "Domes flat metal over a ball, as in the doming block, about its own middle, which stays where it "
        "is.", "work",
        (
            Take("of", Kind.PART, "a disc, a plate, or a workpiece with one, lying flat", needed=True),
            replace(
                length("ball", "diameter of the doming punch, on the hollow side", needed=True), like="24 mm"
            ),
            length("thick", "thickness of the metal, where it is not that of its disc or plate"),
            Take("cupped", Kind.FLAG, "its hollow side looks toward you"),
        ),
        example="dap shell: of leaf, ball 24 mm",
        offers={
            "face": "the middle of its face",
            "back": "the middle of its back, looking backward",
            "rise": "from its rim to its middle",
        },
        roles=frozenset({Role.CUT, Role.CUPPED}), made_by=_dap,
    ),
)
