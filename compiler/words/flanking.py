"""Stones laid on either side of another, so far from it girdle to girdle."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..bench.placement import offset, placed, without
from ..geometry import frames as fr
from ..geometry.outlines import trace

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..bench.piece_bench import PieceBench
    from ..bench.stone_kind import StoneKind

ROOM = 0.3  # mm between the girdles where the line says no gap
TURNS = {"turn": 2, "tilt": 0, "lean": 1}  # the axis of each
POINTS = 240  # round a girdle
NEARER = 0.25  # mm of a step while they are moved together
MOST = 400  # such steps
FINE = 1e-4  # mm, how near they are brought


def flanking(bench: PieceBench, call: Call, kind: StoneKind) -> np.ndarray:
    """Frames (2, 3, 4) of two stones right and left of that of `next-to`, on the face of `on`, else in
    the plane of its girdle, the left one the mirror image; seen from above that stone the girdles are
    `gap` mm apart. However that stone is turned, right is the right of the place it stands at; each is
    turned, tilted and leaned about its own place."""
    middle: Feature = call.get("next-to")
    if len(middle.frames) != 1:
        call.refuse(
            "wrong-kind", f"{middle.name} is {len(middle.frames)} stones; two stand beside one", "next-to",
            remedy="name a single stone: pick one with each, or lay them in a row",
        )
    ground = bench.upright(middle.frames, any_place=True)
    gap, home = call.get("gap", ROOM), middle.kind(0)
    rim, own = _girdle(home), _girdle(kind)
    seen = fr.inverse(middle.frames[0])
    rise = {"table": -kind.crown(), "back": kind.pavilion()}.get(call.get("level"), 0.0)
    lifted = own + np.array([0.0, 0.0, rise])

    turned = offset(call, 0.0, TURNS)
    turned[:, :, 3] = 0.0
    back = fr.compose(fr.flipped(1), fr.turned(2, -2 * call.get("swivel", 0.0)))

    def at(away: float) -> np.ndarray:
        right = fr.compose(fr.shifted(right=away), turned)
        left = fr.compose(fr.flipped(0), fr.compose(right, back))
        frames = placed(without(call, *TURNS), inner=np.concatenate([right, left]))
        return frames if call.given("on") or call.given("at") else fr.compose(ground, frames)

    def short(away: float) -> bool:
        frames = at(away)
        sides = [fr.apply(seen, fr.apply(frame, lifted))[:, :2] for frame in frames]
        off = [[np.subtract.outer(rim[:, k], side[:, k]) for k in (0, 1)] for side in sides]
        return math.sqrt(min((right * right + up * up).min() for right, up in off)) < gap

    far = (np.ptp(rim, axis=0).max() + np.ptp(own, axis=0).max()) / 2 + gap + NEARER
    steps = next((k for k in range(MOST) if far <= k * NEARER or short(far - k * NEARER)), MOST)
    low, high = max(far - steps * NEARER, 0.0), far - (steps - 1) * NEARER
    while high - low > FINE:
        half = (low + high) / 2
        low, high = (half, high) if short(half) else (low, half)
    return at(high)


def _girdle(kind: StoneKind) -> np.ndarray:
    """Spots (n, 3) round a girdle, evenly."""
    flat = trace(kind.outline, 0.004)
    closed = np.concatenate([flat, flat[:1]])
    stations = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))]
    even = np.arange(POINTS) * stations[-1] / POINTS
    return np.stack([*(np.interp(even, stations, closed[:, k]) for k in (0, 1)), np.zeros(POINTS)], axis=1)
