"""Metal between sawn letters, and the bars that hold what stands inside them. Lengths mm."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..geometry.outlines import signed_area

if TYPE_CHECKING:
    from .letters import Letter, Loops, Typesetting

BETWEEN = 0.82  # mm of metal between two sawn letters: as thick as a wall cast in silver, and a little
BAR, BAR_SHARE = 0.82, 0.1  # mm, a bar to what stands inside a letter, and as much of their height
X = np.array((1.0, 0.0, 0.0))
STEP = 0.1  # mm between the spots of a letter's edge that are looked at
KEPT = 0.9  # of the room between two letters on a straight line, what a bend may leave
HALVED = 12  # times, the way two letters are moved apart
STRAIGHT, NEAR = 0.6, 0.06  # of its height, the side of a hole is a stem's, that lies so near its width's end
HAIR = 0.04  # mm, half of what is too fine to be part of a bar


def bar_for(tall: float) -> float:
    """How wide the bars of sawn letters are where no line says, mm."""
    return max(BAR, BAR_SHARE * tall)


def spaced(setting: Typesetting) -> Typesetting:
    """The text with those letters moved apart that leave too little metal between them."""
    made: list[Letter] = []
    shift, last = 0.0, None
    for letter in setting.letters:
        if last is not None and letter.loops:
            shift += _further(last.loops, letter.loops, round(letter.middle + shift - last.middle, 6))
        made.append(replace(letter, middle=letter.middle + shift))
        last = made[-1] if letter.loops else last
    return replace(setting, letters=tuple(made), wide=setting.wide + shift)


def eased(setting: Typesetting, stood: np.ndarray, straight: Typesetting) -> Typesetting:
    """The text with those letters moved apart that come closer on a bend than on a straight line, where their
    heads or feet crowd; ``stood`` (n, 3, 4) is where its letters stand, ``straight`` how it was first set."""
    made: list[Letter] = []
    shift, last = 0.0, -1
    for k, letter in enumerate(setting.letters):
        if last >= 0 and letter.loops:
            before = setting.letters[last]
            edges = [np.insert(_spots(one.loops), 2, 0.0, axis=1) for one in (before, letter)]
            apart = straight.letters[k].middle - straight.letters[last].middle
            flat = _nearest(edges[0], edges[1] + apart * X)
            one, other = fr.apply(stood[last], edges[0]), fr.apply(stood[k], edges[1])
            if _nearest(one, other) < KEPT * flat:
                shift += _apart(one, other, stood[k][:, 0], flat)
        made.append(replace(letter, middle=letter.middle + shift))
        last = k if letter.loops else last
    return replace(setting, letters=tuple(made), wide=setting.wide + shift)


def part_way(setting: Typesetting, wider: Typesetting, share: float) -> Typesetting:
    """The text with its letters a ``share`` of the way to where they stand in a ``wider`` one."""
    pairs = zip(setting.letters, wider.letters, strict=True)
    letters = tuple(replace(a, middle=a.middle + share * (b.middle - a.middle)) for a, b in pairs)
    return replace(setting, letters=letters, wide=setting.wide + share * (wider.wide - setting.wide))


def _nearest(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.sqrt(((one[:, None] - other[None]) ** 2).sum(axis=2).min()))


def _apart(one: np.ndarray, other: np.ndarray, way: np.ndarray, least: float) -> float:
    """How far spots (n, 3) have to go a ``way`` (3,) to be so far from others."""
    low, high = 0.0, 2 * least
    while _nearest(one, other + high * way) < least:
        high *= 2
    for _ in range(HALVED):
        middle = (low + high) / 2
        low, high = (middle, high) if _nearest(one, other + middle * way) < least else (low, middle)
    return round(high, 3)


@lru_cache(maxsize=512)
def _further(left: Loops, right: Loops, apart: float) -> float:
    """How far two letters whose middles are ``apart`` have to be moved apart besides."""
    one, other = _spots(left), _spots(right) + np.array((apart, 0.0))
    if other[:, 0].min() - one[:, 0].max() >= BETWEEN or _nearest(one, other) >= BETWEEN:
        return 0.0
    return _apart(one, other, np.array((1.0, 0.0)), BETWEEN)


def _spots(loops: Loops) -> np.ndarray:
    found = []
    for loop in map(np.array, loops):
        way = np.roll(loop, -1, axis=0) - loop
        count = np.maximum(1, np.ceil(np.linalg.norm(way, axis=1) / STEP).astype(int))
        found += [a + np.arange(n)[:, None] / n * w for a, w, n in zip(loop, way, count, strict=True)]
    return np.concatenate(found)


def bridged(loops: Loops, wide: float) -> Loops:
    """The loops of a letter with bars ``wide`` mm left up and down from whatever stands inside it: beside a
    stem, so that it stays whole, else in the middle."""
    inside = [np.array(loop) for loop in loops if signed_area(np.array(loop)) < 0]
    if wide <= 0 or not inside:
        return loops
    from manifold3d import CrossSection, FillRule, JoinType, OpType

    letter = CrossSection([np.array(loop) for loop in loops], FillRule.NonZero)
    bars = []
    for hole in inside:
        low, high = hole.min(axis=0), hole.max(axis=0)
        strip = CrossSection.square((wide, 1000.0), True).translate((_bar_at(hole, wide), 0.0))
        whole = strip ^ letter
        bars += [
            part.offset(2 * HAIR, JoinType.Miter) ^ whole
            for part in whole.offset(-HAIR, JoinType.Miter).decompose()
            if part.bounds()[1] < high[1] + 2 * HAIR and part.bounds()[3] > low[1] - 2 * HAIR
        ]
    left = CrossSection.batch_boolean([letter, *bars], OpType.Subtract).simplify(1e-5)
    return tuple(tuple((float(x), float(y)) for x, y in np.round(loop, 7)) for loop in left.to_polygons())


def _bar_at(hole: np.ndarray, wide: float) -> float:
    """Where across it the bar of a hole in a letter stands."""
    low, high = hole.min(axis=0), hole.max(axis=0)
    before = np.roll(hole, 1, axis=0)
    near = NEAR * (high[0] - low[0])
    rise = np.abs(hole[:, 1] - before[:, 1])
    off = [np.maximum(np.abs(hole - side), np.abs(before - side))[:, 0] for side in (low, high)]
    stems = [rise[one < near].sum() > STRAIGHT * (high - low)[1] for one in off]
    if stems[0] == stems[1]:
        return float(low[0] + high[0]) / 2
    return float(low[0] + wide / 2 if stems[0] else high[0] - wide / 2)
