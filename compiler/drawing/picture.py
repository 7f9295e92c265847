"""One view of a scene: its lines, tints and stones' numbers, in pixels of a known size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .chains import chains
from .fit import Fit, Run, fitted
from .outline import Edges
from .raster import Buffer, fill
from .scene import Scene
from .tints import Tint, tints
from .views import View
from .visible import EDGE, FACETS, OUTLINE, Lines, visible

LINE_FIT = 0.5  # pixels
TINT_FIT = Fit(0.8, corners=False, worth=4.0)
SHORTEST = 4.0  # pixels: a shorter run is a speck
SPECK = 12.0  # pixels: a shorter edge by itself is one too
MEETS = 6.0  # pixels: no farther apart lines belong together
MARGIN = 3  # pixels of nothing all round
LEAST_SEEN = 0.12  # of the square about a stone, below which it counts as hidden


@dataclass(frozen=True)
class Box:
    """What a view shows, in mm: right and up of the piece's origin."""

    left: float
    low: float
    right: float
    high: float

    @property
    def wide(self) -> float:
        """Mm from left to right."""
        return self.right - self.left

    @property
    def tall(self) -> float:
        """Mm from low to high."""
        return self.high - self.low


@dataclass(frozen=True)
class Ink:
    """Runs of one kind (OUTLINE, EDGE, FACETS) and colour; ``stone`` tells a stone's."""

    kind: int
    stone: bool
    colour: str
    runs: tuple[Run, ...]


@dataclass(frozen=True)
class Area:
    """Loops filled even-odd."""

    colour: str
    runs: tuple[Run, ...]


@dataclass(frozen=True)
class Tag:
    """A stone's number at (x, y) pixels; ``across`` pixels there are for it."""

    number: int
    x: float
    y: float
    across: float


@dataclass(frozen=True)
class Picture:
    """A view in pixels of ``pixel`` mm from the upper left of ``box`` less MARGIN pixels; y runs down."""

    view: View
    box: Box
    pixel: float
    areas: tuple[Area, ...]
    inks: tuple[Ink, ...]
    tags: tuple[Tag, ...]


def box_of(scene: Scene, view: View) -> Box:
    """The limits of a view, mm."""
    flat = scene.points[np.unique(scene.triangles)] @ view.axes()[:2].T
    (left, low), (right, high) = flat.min(axis=0), flat.max(axis=0)
    return Box(float(left), float(low), float(right), float(high))


Paint = Callable[[Scene, np.ndarray, np.ndarray, np.ndarray, Buffer], Sequence[Tint]]


def picture(
    scene: Scene, edges: Edges, view: View, pixel: float, box: Box | None = None, paint: Paint = tints
) -> Picture:
    """A view, or what lies within ``box``, in pixels of ``pixel`` mm; ``paint`` tells the areas."""
    axes, box = view.axes(), box or box_of(scene, view)
    turned = scene.points @ axes.T
    xy = np.column_stack(
        [(turned[:, 0] - box.left) / pixel + MARGIN, (box.high - turned[:, 1]) / pixel + MARGIN]
    )
    depth = turned[:, 2] / pixel
    shape = tuple(int(np.ceil(side / pixel)) + 2 * MARGIN + 1 for side in (box.tall, box.wide))
    front = np.flatnonzero(edges.normals @ axes[2] > 0)
    buffer = fill(xy, depth, scene.triangles, front, shape)  # type: ignore[arg-type]
    lines = visible(scene, edges, axes[2], xy, depth, buffer)
    return Picture(
        view, box, pixel, tuple(
            Area(tint.colour, tuple(fitted(loop, TINT_FIT) for loop in tint.loops))
            for tint in paint(scene, edges.bends, xy, axes, buffer)
        ),
        tuple(_inks(scene, lines, scene.tolerance / pixel)),
        tuple(_tags(scene, axes, buffer.triangle, box, pixel)) if view.across else (),
    )


def _inks(scene: Scene, lines: Lines, chord: float) -> list[Ink]:
    """The pieces of edges as runs; metal and every gem colour apart, fine lines first."""
    looks = [(drawn.stone, drawn.colour if drawn.stone else "") for drawn in scene.bodies]
    fit = Fit(LINE_FIT, chord=chord)
    found = []
    for sort in (FACETS, EDGE, OUTLINE):
        for look in sorted(dict.fromkeys(looks), reverse=True):
            alike = np.array([one == look for one in looks])
            chosen = (lines.kind == sort) & alike[lines.body]
            runs = [fitted(run, fit) for run in chains(lines.ends[chosen])]
            runs = [run for run in runs if run.length() >= SHORTEST]
            if runs:
                found.append(Ink(sort, look[0], look[1], tuple(runs)))
    return _without_specks(found)


def _without_specks(inks: list[Ink]) -> list[Ink]:
    """The inks without edges of metal so short that they tell nothing and that no other line meets, or
    that go to and fro: there one body comes out of another by a hair."""
    runs = [run for ink in inks for run in ink.runs]
    ends = np.array([(run.start, run.strokes[-1].end) for run in runs]).reshape(-1, 2, 2)
    specks = {
        id(run)
        for ink in inks if ink.kind == EDGE and not ink.stone
        for run in ink.runs if run.length() < SPECK and (_flat(run) or _alone(run, runs, ends))
    }  # fmt: skip
    kept = [replace(ink, runs=tuple(run for run in ink.runs if id(run) not in specks)) for ink in inks]
    return [ink for ink in kept if ink.runs]


def _flat(run: Run) -> bool:
    """Whether a run goes to and fro."""
    return run.closed and len(run.strokes) <= 2 and not run.strokes[0].radius


def _alone(run: Run, runs: list[Run], ends: np.ndarray) -> bool:
    """Whether no other run ends near an end of this open one."""
    own = next(k for k, one in enumerate(runs) if one is run)
    others = np.delete(ends, own, axis=0).reshape(-1, 1, 2)
    return not run.closed and bool((np.linalg.norm(others - ends[own], axis=2) > MEETS).all())


def _tags(scene: Scene, axes: np.ndarray, triangle: np.ndarray, box: Box, pixel: float) -> list[Tag]:
    """Numbers of the stones whose middle is seen, from the crown's side."""
    tags = []
    for index, body in enumerate(scene.bodies):
        lean = float(np.array(body.axis) @ axes[2])
        if not body.stone or lean < 0.3:
            continue
        right, up = axes[:2] @ np.array(body.centre)
        x, y = (right - box.left) / pixel + MARGIN, (box.high - up) / pixel + MARGIN
        row, column = int(y), int(x)
        inside = x >= 0 and y >= 0 and row < triangle.shape[0] and column < triangle.shape[1]
        across = body.across / pixel * lean
        if not inside or triangle[row, column] < 0 or scene.body[triangle[row, column]] != index:
            # Something lies over its middle: the nearest spot where the stone itself is seen.
            spot = _nearest(scene.body, triangle, index, (x, y), across)
            if spot is None:
                continue
            x, y = spot
        tags.append(Tag(body.number, float(x), float(y), across))
    return tags


def _nearest(
    body: np.ndarray, triangle: np.ndarray, index: int, spot: tuple[float, float], across: float
) -> tuple[float, float] | None:
    """Where a body is seen nearest to a spot; None where hardly anything of it is."""
    reach = int(across) + 1
    top, left = max(int(spot[1]) - reach, 0), max(int(spot[0]) - reach, 0)
    near = triangle[top : max(int(spot[1]) + reach, 0), left : max(int(spot[0]) + reach, 0)]
    rows, columns = np.nonzero((near >= 0) & (body[near] == index))
    if len(rows) < LEAST_SEEN * across**2:
        return None
    x, y = columns + left + 0.5, rows + top + 0.5
    k = int(np.argmin((x - spot[0]) ** 2 + (y - spot[1]) ** 2))
    return float(x[k]), float(y[k])
