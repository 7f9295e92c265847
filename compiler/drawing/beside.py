"""Views of one scene side by side at one scale, each in a cell of its own. Lengths mm of paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from .outline import edges_of
from .paper import Placed
from .picture import Box, Paint, box_of, picture
from .scene import Scene
from .tints import tints
from .views import View

CELL, EDGE, PIXEL = 86.0, 6.0, 0.12  # a view, the rim, a pixel


class Beside:
    """``scale`` of them all, ``low`` where they end below, ``wide`` all with the rims."""

    def __init__(self, scene: Scene, views: Sequence[View]) -> None:
        self._scene, self._views = scene, views
        self._boxes = [box_of(scene, view) for view in views]
        self.scale = min(CELL / max(box.wide, box.tall, 1e-6) for box in self._boxes)
        self.low = EDGE + max(box.tall for box in self._boxes) * self.scale
        self.wide = EDGE + len(views) * (CELL + EDGE)

    def views(
        self, paint: Callable[[View, Box, float], Paint] = lambda *_: tints
    ) -> Iterator[tuple[View, Placed]]:
        """Each view, placed; ``paint`` gives the areas of one, by its box and the size of a pixel."""
        edges, pixel = edges_of(self._scene), PIXEL / self.scale
        for k, (view, box) in enumerate(zip(self._views, self._boxes, strict=True)):
            shot = picture(self._scene, edges, view, pixel, paint=paint(view, box, pixel))
            left = EDGE + k * (CELL + EDGE) + (CELL - box.wide * self.scale) / 2
            yield view, Placed(shot, left, self.low - box.tall * self.scale, self.scale)
