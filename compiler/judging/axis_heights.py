"""Heights of all faces along the axes that many stones share, and which faces matter at them."""

from __future__ import annotations

from collections import Counter

import numpy as np

from ..measures.kinds import Flags, Floats
from ..measures.skin import Skin
from ..measures.stone import Stone
from .forms import Form

MANY = 4  # stones that look the same way make it worth taking the heights of all faces
MOST_HEIGHTS = 24  # of stones at different heights; with more, all faces are looked at

Axes = dict[tuple[float, ...], tuple[Floats, Floats]]
"""Lowest and highest height of every face, by the way an axis looks."""


def shared_axes(stones: list[Stone], skin: Skin) -> Axes:
    """Lowest and highest height of all faces along each way that many stones look."""
    ways = Counter(tuple(stone.turn[2].round(12).tolist()) for stone in stones)
    found: Axes = {}
    for way, count in ways.items():
        if count >= MANY:
            one, two, three = (skin.points @ np.array(way))[skin.triangles.T]
            found[way] = (
                np.minimum(np.minimum(one, two), three),
                np.maximum(np.maximum(one, two), three),
            )
    return found


def wanted(forms: list[Form], stones: list[Stone], axes: Axes, holds: Flags) -> Flags | None:
    """Which faces can matter to stones that all look one way: those that pass a height looked
    at, and high ones of what holds stones. None (all) where that is not to be told at a stroke."""
    way = tuple(stones[0].turn[2].round(12).tolist())
    if any(tuple(stone.turn[2].round(12).tolist()) != way for stone in stones[1:]):
        return None
    if way not in axes:
        return None
    shift = np.array([stone.origin @ stone.turn[2] for stone in stones])
    heights = np.unique((np.array([form.heights for form in forms]) + shift[:, None]).round(9))
    if len(heights) > MOST_HEIGHTS:
        return None
    low, high = axes[way]
    found = holds[:-1] & (high > float((np.array([form.high for form in forms]) + shift).min()))
    for height in heights.tolist():
        found |= (low < height + 1e-9) & (high >= height - 1e-9)
    return np.asarray(found)
