"""Holes too deep for their width."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry.surfaces import Flat
from ..judging.digits import above, mm, most, place, times
from ..judging.rule import Level, Rule, Verdict
from ..judging.thicknesses import thick_under

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.HOLE):
        across, deep = call.get("across"), call.get("deep")
        through = _through(piece, call.get("in"), feature)
        blind = deep is not None and (through is None or deep < through)
        long = deep if blind else through
        if long is None:
            continue
        ratio, limit = long / across, piece.bound("deep-hole", "blind" if blind else "through")
        if above(ratio, limit):
            yield Verdict(
                "this hole is deep for its width"
                if not blind
                else "this blind hole is deep for its width",
                feature.index,
                f"{mm(long)} deep, {times(ratio)} its width",
                f"{most(times(limit))} its width",
                "make it wider, or drill it after casting",
                ratio,
                limit,
                key="deep" if blind else "across",
                keys=("across", "deep"),
                place=place(feature.frames[0, :, 3]),
            )


def _through(piece: Piece, body: object, hole: Feature) -> float | None:
    """How far a hole that goes straight through a flat body runs in metal, if that is known: to
    the roof's inside, where the body is hollow."""
    if not isinstance(body, Feature) or not isinstance(body.surface, Flat):
        return None
    way, out = hole.frames[0, :, 2], body.frames[0, :, 2]
    if abs(float(np.dot(way, out))) <= 0.99:
        return None
    if piece.is_for(body.index, Role.SHANK):
        return thick_under(piece, body)
    return piece.roofs.get(body.index, body.high - body.low)


RULE = Rule(
    "deep-hole",
    "A hole is too deep for its width.",
    "plan",
    Level.WARNING,
    "The thin pin of investment that makes a deep hole breaks in the pour, and its pieces end "
    "up in the metal.",
    "Keep a hole through to four times its width, a blind one to twice; or mark it and drill "
    "the casting.",
    "BE belgacemcom-hmidahmida90.blogspot.com (2010-05, garbled), an older casting text",
    _check,
)
