"""Closed flat outlines: hashable descriptions, and the points that follow them.

An outline is a tuple ``(kind, figure, ...)``, mm and degrees, so that it can live in the plan
and be hashed. ``trace`` turns it into points on the true curve, counter-clockwise, centred as
the kind says. Chords never leave the true curve by more than the tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from .circle import circumcentre
from .parallels import parallel, runs_once, signed_area, signed_turns

Outline = tuple[Any, ...]
# Fine tracing for lines (rims, paths): arcs never turn more than this between points, so that
# any larger turn is a true corner.
FINE = 0.0005
# At 20 to the circle an arc turns 18 degrees a chord: less than a corner (see
# lines.CORNER_DEGREES).
LEAST_SEGMENTS = 20
ROUGH = 0.05  # mm: from here on a shape is only glanced at
ROUGH_SEGMENTS = 8

GIRDLE = "stone"
"""The kind of outline that is the girdle of a stone."""


def segments(radius: float, tolerance: float, turn: float = 360.0) -> int:
    """Chords for an arc of ``radius`` mm within ``tolerance`` mm; of a full circle a multiple of four."""
    least = LEAST_SEGMENTS if tolerance < ROUGH else ROUGH_SEGMENTS
    if radius <= tolerance:
        whole = least
    else:
        whole = max(least, math.ceil(math.pi / math.acos(1.0 - tolerance / radius)))
    whole = -(-whole // 4) * 4
    return max(1, math.ceil(whole * abs(turn) / 360.0 - 1e-9))


def fine_segments(radius: float, turn: float = 360.0) -> int:
    """As ``segments`` at the fine tolerance, never fewer than 128 to the circle."""
    least = math.ceil(128 * abs(turn) / 360.0)
    return max(segments(radius, FINE, turn), least)


def circle(radius: float, count: int) -> np.ndarray:
    """``count`` points on a circle from +x, counter-clockwise, exactly symmetric, (count, 2)."""
    angles = np.arange(count) * (2.0 * math.pi / count)
    points = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    if count % 4 == 0:  # fold the first quarter so that mirror images are exact
        quarter = points[: count // 4].copy()
        quarter[0] = (radius, 0.0)
        turned = np.stack([-quarter[:, 1], quarter[:, 0]], axis=1)
        points = np.concatenate([quarter, turned, -quarter, -turned])
    return points + 0.0


def _count(radius: float, tolerance: float | None, turn: float = 360.0) -> int:
    if tolerance is None:
        return fine_segments(radius, turn)
    return segments(radius, tolerance, turn)


def _rectangle(wide: float, high: float, corner: float, tolerance: float | None) -> np.ndarray:
    if corner <= 0.0:
        x, y = wide / 2, high / 2
        return np.array([(x, -y), (x, y), (-x, y), (-x, -y)])
    steps = _count(corner, tolerance, 90.0)
    arc = circle(corner, 4 * steps)[: steps + 1]
    arc[-1] = (0.0, corner)
    quarters = []
    for turn, (x, y) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        cosine, sine = ((1, 0), (0, 1), (-1, 0), (0, -1))[turn]
        centre = np.array([x * (wide / 2 - corner), y * (high / 2 - corner)])
        quarters.append(arc @ np.array([[cosine, sine], [-sine, cosine]]) + centre)
    return without_repeats(np.concatenate(quarters))


def _cross(wide: float, high: float, arm: float) -> np.ndarray:
    # Its two arms and its head reach equally far from the crossing, which is its middle.
    x, half, top = wide / 2, arm / 2, min(wide, high) / 2
    low = top - high
    return np.array([
        (half, low), (half, -half), (x, -half), (x, half), (half, half), (half, top),
        (-half, top), (-half, half), (-x, half), (-x, -half), (-half, -half), (-half, low),
    ])  # fmt: skip


@lru_cache(maxsize=512)
def _traced(outline: Outline, tolerance: float | None) -> np.ndarray:
    kind, *figures = outline
    if kind == "rectangle":
        points = _rectangle(figures[0], figures[1], figures[2], tolerance)
    elif kind == "circle":
        points = circle(figures[0] / 2, _count(figures[0] / 2, tolerance))
    elif kind == "ellipse":
        # The sagitta of a chord of an ellipse in its own parameter is at most that of a circle of the long
        # half axis.
        halves = np.array(figures) / 2
        points = circle(1.0, _count(halves.max(), tolerance)) * halves
    elif kind == "polygon":  # so many sides; its width runs over the corners, and one points up
        angles = math.pi / 2 + np.arange(figures[0]) * (2 * math.pi / figures[0])
        points = figures[1] / 2 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    elif kind == "cross":
        points = _cross(figures[0], figures[1], figures[2])
    elif kind == "points":
        points = np.array(figures[0], dtype=float)
    elif kind == "path":
        points = _path(figures[0], tolerance)
    elif kind == GIRDLE:
        points = _stone(figures, tolerance)
    elif kind == "turned":  # a quarter of the way round
        points = trace(figures[0], tolerance) @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    elif kind == "drawn-out":  # so many times as long
        points = trace(figures[0], tolerance and tolerance / figures[1]) * (figures[1], 1.0)
    elif kind == "inset":
        points = parallel(trace(figures[0], tolerance), figures[1])
    elif kind == "drawing":
        points = np.array(figures[0][0], dtype=float)
    else:
        raise KeyError(f"outline {kind}")
    points.setflags(write=False)
    return points


def trace(outline: Outline, tolerance: float | None = None) -> np.ndarray:
    """Points of ``outline`` (n, 2), counter-clockwise; ``None`` traces finely, for lines."""
    return _traced(outline, tolerance).copy()


def trace_all(outline: Outline, tolerance: float | None = None) -> list[np.ndarray]:
    """Every loop of ``outline``, outer ones counter-clockwise; a drawing has several, its largest first."""
    if outline[0] == "drawing":
        return [np.array(loop, dtype=float) for loop in outline[1]]
    return [trace(outline, tolerance)]


def inset(outline: Outline, by: float) -> Outline:
    """``outline`` moved inward by ``by`` mm (outward if negative), exact where a formula serves."""
    kind, *figures = outline
    if by == 0.0:
        return outline
    if kind == "rectangle":
        wide, high, corner = figures
        if by < 0 and corner <= 0:
            return ("inset", outline, by)
        return ("rectangle", wide - 2 * by, high - 2 * by, max(0.0, corner - by))
    if kind == "circle":
        return ("circle", figures[0] - 2 * by)
    return ("inset", outline, by)


def arc_points(
    start: Sequence[float], over: Sequence[float], end: Sequence[float], tolerance: float | None
) -> np.ndarray:
    """Points (k, 2 or 3) of the arc from ``start`` through ``over`` to ``end``, or straight; start left
    out."""
    a, b, c = (np.asarray(p, dtype=float) for p in (start, over, end))
    centre = circumcentre(a, b, c, 1e-12)
    if centre is None:
        return np.array([b, c])
    radius = float(np.linalg.norm(a - centre))
    x = (a - centre) / radius
    # In the plane of the arc, square to x, on the middle spot's side; of one straight across on the end's.
    sides = (w - (w @ x) * x for w in (b - centre, c - centre))
    y = next(side for side in sides if np.linalg.norm(side) > 1e-6 * radius)
    y = y / np.linalg.norm(y)

    def angle(p: np.ndarray) -> float:
        return math.atan2((p - centre) @ y, (p - centre) @ x) % (2 * math.pi)

    whole, middle = angle(c), angle(b)
    if middle > whole:
        whole -= 2 * math.pi
    steps = max(2, _count(radius, tolerance, math.degrees(whole)))
    angles = whole * np.arange(1, steps + 1) / steps
    points = centre + radius * (np.cos(angles)[:, None] * x + np.sin(angles)[:, None] * y)
    points[-1] = c
    return points


def _path(spots: tuple[tuple[Any, ...], ...], tolerance: float | None) -> np.ndarray:
    """Outline through (x, y, z, joint) spots; closed from the last spot to the first."""
    points = [np.array([spots[0][:2]])]
    index = 1
    while index < len(spots):
        if spots[index][3] == "over" and index + 1 < len(spots):
            points.append(arc_points(spots[index - 1][:2], spots[index][:2], spots[index + 1][:2], tolerance))
            index += 2
        elif spots[index][3] == "over":  # the arc closes the outline
            points.append(arc_points(spots[index - 1][:2], spots[index][:2], spots[0][:2], tolerance))
            index += 1
        else:
            points.append(np.array([spots[index][:2]]))
            index += 1
    loop = without_repeats(np.concatenate(points))
    return loop[::-1].copy() if signed_area(loop) < 0 else loop


def _stone(figures: list[Any], tolerance: float | None) -> np.ndarray:
    from ...stdlib.cuts import CUTS

    name, *size = figures
    narrow = size[2] if len(size) > 2 else None
    width = size[1] if len(size) > 1 else size[0]
    return np.asarray(
        CUTS[name].outline(size[0], width, narrow, tolerance=FINE if tolerance is None else tolerance)
    )


def without_repeats(points: np.ndarray, near: float = 1e-9) -> np.ndarray:
    """The points of a loop that are not their predecessor again."""
    gap = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1)
    return points[gap > near]


def crosses_itself(points: np.ndarray) -> bool:
    """Whether a closed polygon (n, 2) touches or crosses itself (n up to a few hundred)."""
    if runs_once(signed_turns(points)):
        return False
    count = len(points)
    (x, y), (long, high) = points.T, (np.roll(points, -1, axis=0) - points).T
    # On which side of edge i point j lies; edge i parts the ends of edge j, and j those of i.
    side = long[:, None] * (y - y[:, None]) - high[:, None] * (x - x[:, None])
    parts = side * np.roll(side, -1, axis=1) < 0
    crossing = parts & parts.T
    index = np.arange(count)
    near = np.abs(index[:, None] - index[None])
    crossing[(near <= 1) | (near == count - 1)] = False
    return bool(crossing.any())
