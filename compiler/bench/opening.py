"""Tools whose depth no line of the text gives: they go to the back of the metal behind them.

Such a shape has None as its last figure; a seat whose way in goes up to the air has RISING for its mouth.
Where the metal ends is found when the cut is made; what is looked at for it, and the tool that comes of it,
stand here, one row for a kind of tool.
Lengths in mm, depths below the tool's own place."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...stdlib.cuts import CUTS
from ..geometry.inside import within_edges
from ..geometry.outlines import Outline, signed_area, trace
from .plan import SEAT, Shape

# How far a tool passes the surface it enters or leaves: coincident faces leave slivers.
PAST = 0.05
# A cone is at least so long.
LEAST_CONE = 0.1
# A light hole longer than this many of its widths is no setter's work: it is left blind.
LONGEST = 10.0
# Spots are never nearer to the rim of a section than this share of its size.
RIM = 0.004
RISING = "rising"  # the mouth of a seat that goes up through all metal over the stone
ROUND = 24  # spots round a girdle over which that is looked for
STEPS = np.array([0.7548776662466927, 0.5698402909980532])  # of an even, never regular, spread


@dataclass(frozen=True, eq=False)
class Opening:
    """What a tool of open depth looks at: ``spots`` (k, 2) of its section; metal that begins between its
    place and ``behind`` stands behind it; it is at least ``least`` deep, and is left at that where the metal
    goes on past ``most``. ``needs`` tells whether it is nothing without metal, ``every`` whether it goes on
    through all metal behind the first. Metal that begins past ``within`` is none of its; one that looks
    ``up`` has its spots over its place."""

    spots: np.ndarray
    least: float
    behind: float
    most: float = math.inf
    needs: bool = True
    every: bool = False
    within: float = math.inf
    up: bool = False


def is_open(shape: Shape) -> bool:
    """Whether a shape's depth is still to be found."""
    return bool(shape.figures) and shape.figures[-1] is None


def opening(shape: Shape) -> Opening | None:
    """What a shape looks at; None when its depth is known."""
    if not is_open(shape):
        return None
    return _KINDS[shape.kind][0](*shape.figures[:-1])


def opened(shape: Shape, back: float, floor: float) -> Shape:
    """The tool that comes out where the metal ends ``back`` below it, and may go on to ``floor``."""
    return _KINDS[shape.kind][1](*shape.figures[:-1], back, floor)


def rising(shape: Shape) -> Opening | None:
    """What a seat looks up at whose way in goes to the first air over its stone: the metal that the table
    lies in, no higher over that than the stone is wide; None of other shapes."""
    if shape.kind != SEAT or RISING not in shape.figures:
        return None
    (name, long, wide, *rest), _, _, rise, *_ = shape.figures
    table = CUTS[name].heights(long, wide)[1]
    spots = _spots(trace(("stone", name, long, wide, *rest), 0.02), ROUND) * (1.0, -1.0)
    return Opening(spots, rise, table, table + wide, needs=False, within=table, up=True)


def risen(shape: Shape, back: float, floor: float) -> Shape:
    """The seat whose way in comes out of metal ``back`` over its stone, and may go on to ``floor``."""
    setting, clearance, hole, rise, _, deep = shape.figures
    return Shape(SEAT, (setting, clearance, hole, floor if back > rise else rise, None, deep))


def hole(outline: Outline, deep: float | None, every: bool = False) -> Shape:
    """A straight-walled hole going inward; where no depth is given to the back of the metal it meets
    first, or of ``every`` wall."""
    if deep is not None:
        return _hole(outline, deep, deep)
    return Shape("through-hole" if every else "hole", (outline, None))


def cone(low_wide: float, low: float, high_wide: float, high: float, past: float = 0.0) -> Shape:
    """A tapered plug between two heights, carried on by ``past`` mm at its upper end."""
    slope = (high_wide - low_wide) / (high - low)
    top = max(high_wide + slope * past, 0.01)
    profile = (0.0, low), (low_wide / 2, low), (top / 2, high + past), (0.0, high + past)
    return Shape("lathe", (profile, max(low_wide, top) / 2))


# -- the kinds ---------------------------------------------------------------------------------


def _look_hole(outline: Outline) -> Opening:
    return Opening(_spots(trace(outline, 0.02)), 0.0, math.inf)


def _look_through(outline: Outline) -> Opening:
    return Opening(_spots(trace(outline, 0.02)), 0.0, math.inf, every=True)


def _hole(outline: Outline, _: float, floor: float) -> Shape:
    return Shape("prism", (outline, -floor, PAST))


def _look_seat(setting: tuple[Any, ...], clearance: float, hole: float, *_: float | None) -> Opening:
    name, long, wide, *_rest = setting
    girdle = trace(("stone", *setting), 0.02)
    culet = clearance - CUTS[name].heights(long, wide)[0]
    return Opening(_spots(girdle * hole), culet, culet, culet + LONGEST * hole * wide, needs=False)


def _seat(*figures: Any) -> Shape:
    *rest, _back, floor = figures
    return Shape("seat", (*rest, floor))


def _look_azure(narrow: float, wide: float, start: float) -> Opening:
    return Opening(_spots(trace(("circle", wide), 0.02)), 0.0, start)


def _azure(narrow: float, wide: float, start: float, back: float, floor: float) -> Shape:
    """The cone has its full width where the metal ends, and opens on beyond it."""
    start = min(start, back - LEAST_CONE)
    past = wide + (wide - narrow) / (back - start) * (floor - back)
    return cone(past, -floor, narrow, -start)


_KINDS: dict[str, tuple[Callable[..., Opening], Callable[..., Shape]]] = {
    "hole": (_look_hole, _hole),
    "through-hole": (_look_through, _hole),
    "seat": (_look_seat, _seat),
    "azure": (_look_azure, _azure),
}


def _spots(loop: np.ndarray, most: int = 120) -> np.ndarray:
    """Spots (k, 2) over a section: round its rim, just inside, ``most`` of them, and spread within."""
    size = float(np.ptp(loop, axis=0).max())
    if signed_area(loop) < 0:
        loop = loop[::-1]
    chords = np.roll(loop, -1, axis=0) - loop
    lengths = np.linalg.norm(chords, axis=1)
    round_ = float(lengths.sum())
    count = int(np.clip(round_ / 0.3, 16, most))
    at = (np.arange(count) + 0.37) * round_ / count
    ends = np.cumsum(lengths)
    side = np.minimum(np.searchsorted(ends, at), len(loop) - 1)
    share = ((at - ends[side]) / lengths[side] + 1.0)[:, None]
    inward = np.stack([-chords[side, 1], chords[side, 0]], axis=1) / lengths[side, None]
    rim = loop[side] + share * chords[side] + RIM * size * inward
    tries = (0.5 + np.arange(1, 2 * count)[:, None] * STEPS) % 1.0
    within = loop.min(axis=0) + tries * np.ptp(loop, axis=0)
    inside = within[within_edges(loop, np.roll(loop, -1, axis=0), within)]
    return np.concatenate([rim, inside[: count // 2 + 1]])
