"""A setting moved about the stones it is for."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from .feature import Feature

_MOVES = "turn", "tilt", "lean", "swivel", "right", "left", "up", "down", "out", "inward", "at"


def about_stones(call: Call, frames: np.ndarray) -> np.ndarray:
    """The frames of a setting moved about the stones it is for, not about the piece's middle.
    Raises Refused when each of them would have it moved about another place."""
    stones: Any = call.get("for")
    if not isinstance(stones, Feature):
        return frames
    grounds = [fr.inverse(ground)[None] for ground in stones.frames]
    about = [
        fr.rounded(fr.compose(fr.compose(ground[None], frames), back))
        for ground, back in zip(stones.frames, grounds, strict=True)
    ]
    if any(np.abs(one - about[0]).max() > 1e-6 for one in about[1:]):
        call.refuse(
            "several-stones",
            f"{call.name} is for {len(stones.frames)} stones, each of which it would move "
            "about another place",
            next((key for key in _MOVES if call.given(key)), None),
            seen=f"{len(stones.frames)} stones",
            limit="1",
            remedy="set each by itself: each one in the row, and the word for one",
        )
    return about[0]
