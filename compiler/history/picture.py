"""What changed, on paper: the piece before with what went, beside it the piece now with what came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..drawing.outline import edges_of
from ..drawing.paper import BLACK, FIGURE, GREY, Placed, drawn
from ..drawing.picture import Box, box_of, picture
from ..drawing.scene import Body, Scene, assembled, stone_body
from ..drawing.sheet import EDGE_MM, GAP, SCALES, TALLEST, WIDEST, pixel, ratio
from ..drawing.svg import UNITS, document, element, words
from ..drawing.views import VIEWS
from ..making.result import Built, Stone
from .metal import Difference, Metal, told

# Told apart by every kind of sight: blue and orange, and the rest grey.
KEPT, GONE, COME = "#9a9a9a", "#d9660a", "#1c6fb8"
_NEAR = 1e-4  # mm, of a stone that has not moved


def pair(difference: Difference, before: Built, after: Built) -> tuple[Scene, Scene] | None:
    """The scenes of two makes, before with what went, and now with what came; None where one is empty."""
    tolerance = max(before.tolerance, after.tolerance)
    scenes = (
        _scene([(KEPT, difference.kept), (colour, metal)], _stones(built, other, colour), tolerance)
        for colour, metal, built, other in (
            (GONE, difference.gone, before, after), (COME, difference.come, after, before),
        )
    )  # fmt: skip
    old, new = scenes
    return None if old is None or new is None else (old, new)


def _stones(built: Built, other: Built, colour: str) -> list[tuple[Stone, str]]:
    """The stones, grey where the other make has the same one at the same place."""
    there = [(s.form, s.gem, np.round(s.size, 4).tolist(), s.frame) for s in other.stones]
    return [
        (one, KEPT if any(
            (one.form, one.gem, np.round(one.size, 4).tolist()) == same[:3]
            and np.allclose(one.frame, same[3], atol=_NEAR) for same in there
        ) else colour)
        for one in built.stones
    ]  # fmt: skip


def _scene(
    metals: Sequence[tuple[str, Metal]], stones: Sequence[tuple[Stone, str]], tolerance: float
) -> Scene | None:
    """One scene of metals and stones in colours that say what became of them; None of nothing."""
    bodies = [(Body(colour), one.points, one.triangles) for colour, one in metals if len(one.triangles)]
    for stone, colour in stones:
        body, points, triangles, _ = stone_body(stone)
        bodies.append((replace(body, colour=colour), points, triangles))
    # No line of work is told from another: each body is as one.
    rows = [(*row, np.full(len(row[2]), k, np.int32)) for k, row in enumerate(bodies)]
    return assembled(rows, tolerance) if rows else None


def changes_sheet(
    both: tuple[Scene, Scene], difference: Difference, title: str, names: tuple[str, str],
    views: Sequence[str],
) -> bytes:  # fmt: skip
    """An SVG: a row for each view, before and now side by side at one scale, under their ``names``."""
    looks = [VIEWS[name] for name in dict.fromkeys(views)]
    boxes = [_both(*(box_of(scene, view) for scene in both)) for view in looks]
    wide = max(box.wide for box in boxes)
    scale = _scale(wide, [box.tall for box in boxes])
    inside: list[str] = []
    for column, scene in enumerate(both):
        left = EDGE_MM + column * (wide * scale + GAP)
        inside.append(_line(names[column], left, EDGE_MM + FIGURE, BLACK))
        edges, top = edges_of(scene), EDGE_MM + 2 * FIGURE
        for view, box in zip(looks, boxes, strict=True):
            shot = picture(scene, edges, view, pixel(box, scale))
            middle = left + wide * scale / 2 - (box.left + box.wide / 2) * scale
            high = top + (box.high - shot.box.high) * scale
            inside += drawn(Placed(shot, middle + shot.box.left * scale, high, scale))
            top += box.tall * scale + GAP
    inside += _key(difference, title, scale, top)
    width = max(2 * EDGE_MM + 2 * wide * scale + GAP, 100.0)
    return document(inside, width, top + 5 * FIGURE + EDGE_MM, title)


def _both(one: Box, other: Box) -> Box:
    left, low = min(one.left, other.left), min(one.low, other.low)
    return Box(left, low, max(one.right, other.right), max(one.high, other.high))


def _scale(wide: float, talls: Sequence[float]) -> float:
    """The greatest scale at which two columns and all rows fit the paper."""
    for scale in SCALES:
        tall = sum(one * scale + GAP for one in talls)
        if 2 * wide * scale + GAP + 2 * EDGE_MM <= WIDEST and tall <= TALLEST - 7 * FIGURE:
            return scale
    return SCALES[-1]


def _key(difference: Difference, title: str, scale: float, top: float) -> list[str]:
    """Title, scale, and what the colours mean, with the figures."""
    rows = (
        (GONE, f"gone: {told(difference.gone_mm3)}"), (COME, f"new: {told(difference.come_mm3)}"),
        (KEPT, "as it was"),
    )  # fmt: skip
    said = [_line(f"{title}, {ratio(scale)}", EDGE_MM, top + FIGURE, BLACK)]
    for number, (colour, text) in enumerate(rows):
        low = top + (2.6 + 1.3 * number) * FIGURE
        spot = f"M{round(EDGE_MM * UNITS)} {round(low * UNITS)}v{round(-FIGURE * 0.7 * UNITS)}" \
            f"h{round(FIGURE * UNITS)}v{round(FIGURE * 0.7 * UNITS)}z"
        said += [element("path", fill=colour, d=spot), _line(text, EDGE_MM + 1.6 * FIGURE, low, GREY)]
    return said


def _line(text: str, x: float, y: float, colour: str) -> str:
    """A line of writing at (x, y) mm."""
    return words(text, x * UNITS, y * UNITS, FIGURE, fill=colour)
