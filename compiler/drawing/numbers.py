"""The stones' numbers on a view: on the stone where they can be read, else beside it with a line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .paper import BLACK, FIGURE, Placed
from .svg import UNITS, element, through, words

LEAST = 1.8  # mm, the lowest height of figures in ISO 3098-1 (from memory)
_WIDE, _HIGH = 0.6, 0.75  # of a figure, shares of the size it is written in
_RIM, _METAL = "#fff", 1.2  # mm of paper round a stone, that metal takes for the most part
_WAYS = 24
_STEPS = (0.6, 1.6, 2.8, 4.2, 6.0, 8.0, 11.0)  # mm of paper beyond a stone's edge
Disc = tuple[float, float, float]  # x, y, radius, mm of paper
Box = tuple[float, float, float, float]  # left, top, right, bottom


def tags(placed: Placed) -> list[str]:
    """The numbers of the stones that are seen, none of them lower than LEAST."""
    left, top = placed.corner()
    factor = placed.factor()
    discs = [
        ((left + tag.x * factor) / UNITS, (top + tag.y * factor) / UNITS, tag.across * factor / UNITS / 2)
        for tag in placed.picture.tags
    ]
    taken: list[Box] = []
    said: list[str] = []
    rest: list[tuple[str, Disc]] = []
    for tag, disc in zip(placed.picture.tags, discs, strict=True):
        text = str(tag.number)
        size = min(FIGURE, 2 * disc[2] * (0.62 if len(text) < 2 else 0.95 / len(text)))
        if size >= LEAST:
            taken.append(_box(text, size, disc[:2]))
            said += _written(text, disc[:2], size)
        else:
            rest.append((text, disc))
    for text, disc in rest:
        spot = _room(text, disc, discs, taken)
        taken.append(_box(text, LEAST, spot))
        said += [_lead(disc, spot, text), *_written(text, spot, LEAST)]
    return said


def _box(text: str, size: float, spot: tuple[float, float]) -> Box:
    wide, high = _WIDE * size * len(text) / 2, _HIGH * size / 2
    return spot[0] - wide, spot[1] - high, spot[0] + wide, spot[1] + high


def _room(text: str, disc: Disc, discs: Sequence[Disc], taken: Sequence[Box]) -> tuple[float, float]:
    """A spot near a stone where its number covers nothing, or least."""
    x, y, radius = disc
    wide = _WIDE * LEAST * len(text) / 2
    best: tuple[float, tuple[float, float]] | None = None
    for step in _STEPS:
        for k in range(_WAYS):
            turn = 2 * math.pi * (k + 0.5) / _WAYS
            reach = radius + step + wide * abs(math.cos(turn)) + LEAST / 2 * abs(math.sin(turn))
            spot = x + reach * math.cos(turn), y + reach * math.sin(turn)
            own = _box(text, LEAST, spot)
            cost = step / 100 + sum(_over(own, one) for one in taken)
            cost += 0.4 * sum(_in_disc(own, one) for one in discs)
            if best is None or cost < best[0] - 1e-9:
                best = cost, spot
    assert best is not None
    return best[1]


def _over(box: Box, other: Box) -> float:
    """How much another box covers of one, mm2, grown a little so that figures stand apart."""
    wide = min(box[2], other[2]) - max(box[0], other[0]) + 0.5
    high = min(box[3], other[3]) - max(box[1], other[1]) + 0.3
    return wide * high if wide > 0 and high > 0 else 0.0


def _in_disc(box: Box, disc: Disc) -> float:
    """How far a box reaches into a stone and the metal that holds it, mm."""
    x = min(max(disc[0], box[0]), box[2])
    y = min(max(disc[1], box[1]), box[3])
    return max(0.0, disc[2] + _METAL - math.hypot(x - disc[0], y - disc[1]))


def _lead(disc: Disc, spot: tuple[float, float], text: str) -> str:
    x, y, _ = disc
    left, top, right, bottom = _box(text, LEAST, spot)
    end = min(max(x, left), right), min(max(y, top), bottom)
    dot = element("circle", cx=round(x * UNITS), cy=round(y * UNITS), r=5, fill=BLACK)
    return element("path", stroke=BLACK, stroke_width=3, d=through(((x, y), end))) + dot


def _written(text: str, spot: tuple[float, float], size: float) -> list[str]:
    """A number, light round it: its rim by itself below it, for readers that know no other order."""
    x, y = spot[0] * UNITS, (spot[1] + size * 0.36) * UNITS
    rim = round(0.16 * size * UNITS)
    return [
        words(text, x, y, size, fill=_RIM, text_anchor="middle", stroke=_RIM, stroke_width=rim),
        words(text, x, y, size, fill=BLACK, text_anchor="middle"),
    ]
