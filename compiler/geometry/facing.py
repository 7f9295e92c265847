"""Which way a line looks: by its place and its course, never by the end it is drawn from.

A line drawn flat looks to the onlooker. One that goes round the finger or the wrist, whose middle runs up
through the piece, looks away from it. Any other looks to the onlooker where it can; a closed one that stands
upright away from its own middle, an open one away from the middle of the piece, else to the outer side of its
bend, else up, else right."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from ..measures.kinds import unit
from . import frames as fr
from .line import Line

Field = Callable[[np.ndarray], np.ndarray]

ROUND = np.radians(45.0)  # a line that turns farther about the piece's middle goes round it
NEAR_MIDDLE = 0.25  # ... unless it comes nearer to the middle than this share of its farthest
LEAST_BEND = np.radians(10.0)  # a line that turns farther over all has an outer side
CLEAR = 0.5  # a line looks some way if it does so within 60 degrees, over all
STEEP = 0.35  # a line within 20 degrees of a way cannot look that way there


def _away(points: np.ndarray) -> np.ndarray:
    return unit(points * (1.0, 0.0, 1.0))


def _to(*way: float) -> Field:
    return lambda points: np.tile(np.array(way), (len(points), 1))


FACINGS: dict[str, Field] = {
    "away": _away,
    "finger": lambda points: -_away(points),
    "out": _to(0.0, 0.0, 1.0),
    "inward": _to(0.0, 0.0, -1.0),
    "up": _to(0.0, 1.0, 0.0),
    "down": _to(0.0, -1.0, 0.0),
    "right": _to(1.0, 0.0, 0.0),
    "left": _to(-1.0, 0.0, 0.0),
}


def faced(points: np.ndarray, closed: bool, frame: np.ndarray, facing: str | None) -> Line:
    """The line through ``points`` looking the way ``facing`` says, or its own; it stands in ``frame`` (3,
    4)."""
    placed = Line(fr.apply(frame, points), np.zeros_like(points), closed)
    if facing is None and np.ptp(points[:, 2]) < 1e-9:
        return Line(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), closed)
    outs = _best(placed, _wishes(placed, False) if facing is None else [FACINGS[facing]])
    return Line(points, outs @ frame[:, :3], closed)


def turned_to(line: Line, frame: np.ndarray, facing: str) -> Line:
    """A line that looks another way than it did; a closed one keeps its inner side to the left."""
    made = faced(line.points, line.closed, frame, facing)
    if line.closed and float((made.outs * line.outs).sum()) < -0.5 * len(made.outs):
        return Line(made.points[::-1], made.outs[::-1], True)
    return made


def on_edge(line: Line, frame: np.ndarray, facing: str | None) -> Line:
    """The line looking to its outer side: the right of a closed one; of an open one the side
    that ``facing`` says, or that the line as it stands would look to by itself."""
    right = -line.sides()
    outs = unit(right)
    if not line.closed:
        placed = fr.apply(frame, line.points)
        there = Line(placed, outs @ frame[:, :3].T, False)
        ways = [*_wishes(there, True)] if facing is None else [FACINGS[facing]]
        scores = [_fit(there, there.outs, way(placed)) for way in ways]
        clear = [score for score in scores if abs(score) > 0.1] or [1.0]
        outs = outs * np.sign(clear[0])
    return Line(line.points, outs, line.closed)


def _wishes(line: Line, edge: bool) -> Iterator[Field]:
    """Ways a line may look, the likeliest first; on ``edge`` the outer side of its own bend."""

    def own(points: np.ndarray) -> np.ndarray:
        apart = points - (points.mean(axis=0) if line.closed else points[[0, -1]].mean(axis=0))
        return unit(apart)

    if _goes_round(line):
        yield _away
    if edge:
        yield own
    yield FACINGS["out"]
    if line.closed:
        yield own
    yield _away
    yield from _outer(line)
    yield from (FACINGS["up"], FACINGS["right"])


def _outer(line: Line) -> Iterator[Field]:
    """The outer side of the bend of an open line in one plane, if it bends to one side."""
    _, sizes, axes = np.linalg.svd(line.points - line.points.mean(axis=0), full_matrices=False)
    if line.closed or len(sizes) < 3 or sizes[2] > 1e-6 * sizes[0] or sizes[1] < 1e-6 * sizes[0]:
        return
    before, after = line.unit_chords()
    turn = float(np.arcsin(np.clip(np.cross(before, after) @ axes[2], -1.0, 1.0)).sum())
    if abs(turn) > LEAST_BEND:
        side = np.cross(line.ways(), axes[2]) * np.sign(turn)
        yield lambda points: side


def _goes_round(line: Line) -> bool:
    x, z = line.points[:, 0], line.points[:, 2]
    away = np.hypot(x, z)
    if away.min() < NEAR_MIDDLE * away.max():
        return False
    turn = np.unwrap(np.arctan2(x, z))
    return bool(np.ptp(turn) > ROUND)


def _best(line: Line, wishes: list[Field] | Iterator[Field]) -> np.ndarray:
    """Outs (n, 3) by the first wish that the line can follow clearly, else by the one it follows best."""
    ways = line.ways()
    best, score = np.zeros_like(ways), -1.0
    for wish in wishes:
        want = wish(line.points)
        square = want - (want * ways).sum(axis=1, keepdims=True) * ways
        size = np.linalg.norm(square, axis=1)
        if size.min() > STEEP:
            outs = square / size[:, None]
        else:
            outs = _untwisted(line, ways, square)
        fits = _fit(line, outs, want)
        if fits > score + 1e-9:
            best, score = outs, fits
        if fits > CLEAR:
            break
    return best


def _fit(line: Line, outs: np.ndarray, want: np.ndarray) -> float:
    """How far the outs look as they should, -1 to 1, by length, however finely its bends are drawn."""
    spans = line.spans()
    return float((outs * want).sum(axis=1) @ spans / spans.sum())


def _untwisted(line: Line, ways: np.ndarray, square: np.ndarray) -> np.ndarray:
    """Outs carried along without twist, turned as a whole to look most nearly as ``square`` does."""
    first = _carried(line.points, ways, line.closed)
    second = np.cross(ways, first)
    turn = np.arctan2(_fit(line, second, square), _fit(line, first, square))
    return np.asarray(np.cos(turn) * first + np.sin(turn) * second)


def _carried(points: np.ndarray, ways: np.ndarray, closed: bool) -> np.ndarray:
    """Normals (n, 3) carried from point to point without twist by two reflections each (Wang,
    Jüttler, Zheng and Liu, Computation of rotation minimizing frames, 2008, from memory); on a
    closed line what is left over is spread evenly."""
    start = np.eye(3)[int(np.abs(ways[0]).argmin())]
    normal = start - (start @ ways[0]) * ways[0]
    normals = [normal / np.linalg.norm(normal)]
    count = len(points)
    for k in range(count if closed else count - 1):
        after = (k + 1) % count
        normal, way = normals[-1], ways[k]
        step = points[after] - points[k]
        normal, way = _mirrored(normal, step), _mirrored(way, step)
        normals.append(_mirrored(normal, ways[after] - way))
    carried = np.stack(normals)
    if not closed:
        return carried
    last, carried = carried[-1], carried[:-1]
    side = np.cross(ways[0], carried[0])
    rest = -np.arctan2(last @ side, last @ carried[0])
    stations = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    angle = (rest * stations / (stations[-1] + np.linalg.norm(points[0] - points[-1])))[:, None]
    return np.asarray(np.cos(angle) * carried + np.sin(angle) * np.cross(ways, carried))


def _mirrored(vector: np.ndarray, across: np.ndarray) -> np.ndarray:
    square = float(across @ across)
    return vector if square < 1e-24 else vector - 2.0 * float(vector @ across) / square * across
