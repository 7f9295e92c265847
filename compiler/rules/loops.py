"""Loops and pins: too thick, too small for the chain's end ring, too weak."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import above, below, least, mm, most, place, rounded_down, rounded_up, times
from ..judging.edges import Neighbours, inside_by
from ..judging.figure_rule import LEAST, MOST, Aspect, Reading, Test, Tier
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def thick_loop(piece: Piece) -> Iterator[Verdict]:
    """Loops of wire thicker than the metal they are rooted in."""
    flat = Neighbours(f for f in piece.features if f.body is not None)
    limit = piece.bound("thick-loop", "most")
    for loop in piece.features:
        if loop.opening is None or loop.body is None:
            continue
        inside, wire = loop.opening
        near = flat.near(loop.frames[:, :, 3], inside + wire)
        thin = min((_thick(loop, body) for body in near), default=np.inf)
        if above(wire, limit * thin):
            yield Verdict(
                "the wire of this loop is thicker than the metal it is rooted in",
                loop.index,
                mm(wire),
                most(f"{mm(limit * thin)}, the metal's thickness"),
                "take thinner wire, or stand the loop on edge",
                wire,
                limit * thin,
                key="wire",
                keys=("wire",),
                place=place(loop.frames[0, :, 3]),
                mend=Mend("wire", rounded_down(limit * thin), "most"),
            )


def _thick(loop: Feature, body: Feature) -> float:
    """Thickness of a flat body that a loop lying in its plane is rooted in; else infinite."""
    assert loop.opening is not None and body.outline is not None
    inside, wire = loop.opening
    for home in body.frames[:50]:
        local = fr.compose(fr.inverse(home)[None], loop.frames)
        level = np.abs(local[:, 2, 2]) > 0.98
        level &= (local[:, 2, 3] > body.low) & (local[:, 2, 3] < body.high)
        out = -inside_by(body.outline, local[:, :2, 3])
        if (level & (out > 0) & (out < inside / 2 + wire)).any():
            return body.high - body.low
    return float(np.inf)


def chain_too_big(piece: Piece) -> Iterator[Verdict]:
    """Chains whose end ring does not go through."""
    clearance, clasp = (
        piece.bound("chain-too-big", "clearance"),
        piece.bound("chain-too-big", "clasp"),
    )
    for feature in piece.features:
        chain = piece.call(feature.index).get("chain")
        if not isinstance(chain, tuple) or feature.opening is None:
            continue
        across, wire, inside = max(chain), min(chain), feature.opening[0]
        through, hooked = across + clearance, wire * clasp
        if not below(inside, through):
            continue
        never = below(inside, hooked)
        bound = hooked if never else through
        yield Verdict(
            "the chain's end ring does not even hook into this loop"
            if never
            else "the chain's end ring does not pass this loop whole: open it and hook it in",
            feature.index,
            f"{mm(inside)} inside",
            f"{least(mm(bound))} for an end ring of {mm(across)} in {mm(wire)} wire",
            "make the loop larger, or take a smaller end ring",
            inside,
            bound,
            key="inside",
            keys=("inside", "chain"),
            place=place(feature.frames[0, :, 3]),
            level=Level.FAULT if never else Level.HINT,
            mend=Mend("inside", rounded_up(bound), "least"),
        )


def _pins(piece: Piece) -> Iterator[tuple[int, int]]:
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, Role.PIN) and rods.long[k] > 4 * rods.wire[k]:
            yield k, line


def _wires(piece: Piece) -> Iterator[Reading]:
    for k, line in _pins(piece):
        yield Reading(line, float(piece.rods.wire[k]), piece.rods.foot[k])


def _ratios(piece: Piece) -> Iterator[Reading]:
    for k, line in _pins(piece):
        long, wire = float(piece.rods.long[k]), float(piece.rods.wire[k])
        yield Reading(line, long / wire, piece.rods.foot[k], (long, wire))


WIRE = Aspect(_wires, "wire", ("wire",))
RATIO = Aspect(
    _ratios, "long", ("long",),
    seen=lambda one: f"{mm(one.of[0])} long, {mm(one.of[1])} thick: {times(one.figure)}",
    limit=lambda bound, _: times(bound),
    value=lambda bound, one: f"{one.of[0] / bound:.2f} mm",
)  # fmt: skip

_THIN = Test(WIRE, (Tier("wire", "this pin is thin"),), "take wire of {value}", mend="wire")
_LONG = Test(
    RATIO, (Tier("ratio", "this pin is long for its wire"),), "take wire of {value}, or a shorter pin"
)


def weak_pin(piece: Piece) -> Iterator[Verdict]:
    """Pins that bend in the cloth."""
    yield from _THIN.verdicts("weak-pin", LEAST, piece)
    yield from _LONG.verdicts("weak-pin", MOST, piece)
