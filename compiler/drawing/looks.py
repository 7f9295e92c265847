"""Looks at single stones: one setting close up, and the views that between them show every stone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from .numbers import tags
from .outline import Edges, edges_of
from .paper import BLACK, Placed, drawn
from .picture import Box, Picture, box_of, picture
from .scene import Body, Scene
from .sheet import EDGE_MM, SCALES, ratio
from .svg import UNITS, document, element
from .views import VIEWS, View

_ROUND = 2.0  # mm of the piece shown round a stone
_CLOSE = (10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0)
_FINEST = 0.1  # mm of paper to a pixel
_MOST = 1800  # pixels along a side
_LOOKS = ("face", "side", "end", "back", "far-side", "far-end")
_WHOLE = 20.0  # pixels, 2 mm of paper: a number nearer to the frame is cut by it
_CLEAR = 0.75  # of how wide it is seen elsewhere: a stone seen narrower has its number there alone
_READ = 2.4  # mm of paper: a stone smaller than this has its number beside it


@dataclass(frozen=True)
class Map:
    """A view with numbered stones: its name, scale, drawing, width in mm of paper, the numbers in it."""

    view: str
    scale: str
    drawing: bytes
    wide: float
    numbers: tuple[int, ...]


def close_up(scene: Scene, number: int, most: float = 64.0) -> tuple[bytes, str]:
    """A stone and what holds it from straight above, at most ``most`` mm of paper wide; with its scale."""
    body = next(one for one in scene.bodies if one.number == number)
    view = _above(body)
    right, up = view.axes()[:2] @ np.array(body.centre)
    own = scene.points[np.unique(scene.triangles[scene.body == scene.bodies.index(body)])]
    reach = float(np.abs((own - body.centre) @ view.axes()[:2].T).max()) + _ROUND
    box = Box(float(right - reach), float(up - reach), float(right + reach), float(up + reach))
    scale = next((one for one in _CLOSE if box.wide * one <= most), _CLOSE[-1])
    shot = picture(scene, edges_of(scene), view, _FINEST / scale, box)
    far = box.wide / shot.pixel - _WHOLE  # the box is square
    whole = (one for one in shot.tags if min(one.x, one.y) > _WHOLE and max(one.x, one.y) < far)
    placed = Placed(replace(shot, tags=tuple(whole)), 1.0, 1.0, scale)
    side = round(placed.wide * UNITS)
    inside = [
        element("svg", "".join([*drawn(placed), *tags(placed)]), x=UNITS, y=UNITS, width=side, height=side,
                viewBox=f"{UNITS} {UNITS} {side} {side}", overflow="hidden"),
        element("rect", x=UNITS, y=UNITS, width=side, height=side, stroke=BLACK, stroke_width=3),
    ]  # fmt: skip
    return document(inside, placed.wide + 2.0, placed.tall + 2.0, f"stone {number}"), ratio(scale)


def _above(body: Body) -> View:
    """The look down the axis of a stone, with what is up in the piece up, if that can be."""
    toward = np.array(body.axis) / np.linalg.norm(body.axis)
    up = np.array((0.0, 1.0, 0.0)) if abs(toward[1]) < 0.9 else np.array((0.0, 0.0, 1.0))
    up = up - (up @ toward) * toward
    up /= np.linalg.norm(up)
    axes = (np.cross(up, toward), up, toward)
    right, high, near = (tuple(float(v) for v in axis) for axis in axes)
    # Named axes of the piece mark a view that may carry numbers.
    return View("close", right, high, near, "x", "y")  # type: ignore[arg-type]


def maps(scene: Scene, wide: float = 178.0, tall: float = 215.0) -> tuple[list[Map], list[int]]:
    """Views in which every stone that can be seen has its number, where it is seen well, each as large as
    fits; and the numbers of those no view shows."""
    wanted = {body.number for body in scene.bodies if body.stone}
    look = partial(_look, scene, edges_of(scene))
    seen = {name: _across(look(VIEWS[name], 0.5)) for name in _LOOKS} if wanted else {}
    scales = {name: _scale(scene, box_of(scene, VIEWS[name]), wide, tall) for name in _chosen(seen, wanted)}
    shots = {name: look(VIEWS[name], scale) for name, scale in scales.items()}
    best: dict[int, float] = {}
    for across in map(_across, shots.values()):
        best.update({number: max(wide, best.get(number, 0.0)) for number, wide in across.items()})
    found: list[Map] = []
    for name, shot in shots.items():
        clear = [tag for tag in shot.tags if tag.across * shot.pixel > _CLEAR * best[tag.number]]
        if clear:
            placed = Placed(replace(shot, tags=tuple(clear)), EDGE_MM, EDGE_MM, scales[name])
            size = placed.wide + 2 * EDGE_MM, placed.tall + 2 * EDGE_MM
            inside = [*drawn(placed), *tags(placed)]
            numbers = tuple(sorted(tag.number for tag in clear))
            found.append(Map(name, ratio(scales[name]), document(inside, *size, name), size[0], numbers))
    return found, sorted(wanted - set(best))


def _look(scene: Scene, edges: Edges, view: View, scale: float) -> Picture:
    box = box_of(scene, view)
    return picture(scene, edges, view, max(_FINEST / scale, max(box.wide, box.tall) / _MOST))


def _across(shot: Picture) -> dict[int, float]:
    """How wide every stone with its number is seen, mm of the piece."""
    return {tag.number: tag.across * shot.pixel for tag in shot.tags}


def _chosen(seen: dict[str, dict[int, float]], wanted: set[int]) -> Iterator[str]:
    """Views one after the other, each time the one that shows most of what is not yet shown."""
    left = set(wanted)
    rest = dict(seen)
    while left and rest:
        best = max(rest, key=lambda name: len(rest[name].keys() & left))
        if not rest[best].keys() & left:
            return
        left -= rest.pop(best).keys()
        yield best


def _scale(scene: Scene, box: Box, wide: float, tall: float) -> float:
    """As large as fits, but no larger than the numbers and a good third of a page need."""
    fits = [s for s in SCALES if box.wide * s + 2 * EDGE_MM <= wide and box.tall * s + 2 * EDGE_MM <= tall]
    least = min(body.across for body in scene.bodies if body.stone)
    third = [s for s in fits if box.tall * s + 2 * EDGE_MM <= 0.4 * tall]
    if third and third[0] * least >= _READ:
        return third[0]
    return fits[0] if fits else SCALES[-1]
