"""Loops of wire thicker than the metal they are rooted in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..geometry import frames as fr
from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.edges import Neighbours, inside_by
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
