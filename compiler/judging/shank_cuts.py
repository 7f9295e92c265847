"""How much of the section of a shank the cuts of the text leave. Lengths mm."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from ..bench.feature import Feature
from ..bench.plan import Shape
from ..geometry import frames as fr
from ..geometry.inside import within_edges
from ..measures.kinds import Floats, least, most
from ..measures.section import cuts
from .piece import Piece

STEP = 2.0  # degrees from section to section
SPOTS = 400  # in the box of a section
# Evenly spread and in no rows: the plastic number's powers, as the golden ratio spreads them on a line.
EVEN = np.arange(1, SPOTS + 1)[:, None] * (0.7548776662466927, 0.5698402909980532) % 1.0


@dataclass(frozen=True, eq=False)
class ShankCut:
    """The share of a band's section that is left where a cut took most of it, that cut, and where."""

    left: float
    cut: int
    at: Floats


def deepest_cut(piece: Piece, band: Feature, chosen: Collection[int]) -> ShankCut | None:
    """Where the ``chosen`` cuts leave least of a band as it was made; all metal that stands there now
    counts. None where they leave it whole."""
    skin, home = piece.skin_measures.skin, fr.inverse(band.frames[0])
    solids = [one for one in piece.plan_solids if one.feature == band.index and not one.cut]
    if not solids:
        return None
    made = np.concatenate([
        fr.apply(frame, mesh.points)[mesh.triangles]
        for one in solids for mesh in [piece.mesh_of(Shape(one.kind, one.figures), piece.tolerance)]
        for frame in one.frames
    ])  # fmt: skip
    made = fr.apply(home, made.reshape(-1, 3)).reshape(-1, 3, 3)
    walls = np.flatnonzero(np.isin(skin.owner, list(chosen)))
    spots = fr.apply(home, skin.corners[walls].mean(axis=1))
    radius = np.hypot(made[:, :, 0], made[:, :, 2])
    near = (np.hypot(spots[:, 0], spots[:, 2]) < radius.max()) & (np.abs(spots[:, 1]) <= made[:, :, 1].max())
    walls, spots = walls[near], spots[near]
    bins = np.round(np.degrees(np.arctan2(spots[:, 0], spots[:, 2])) / STEP).astype(int)
    whole = fr.apply(home, skin.corners.reshape(-1, 3)).reshape(-1, 3, 3)
    found, inside = [], band.look("inside")
    bore = inside.value / 2 if inside is not None else 0.0
    numbers = np.unique(bins).tolist()
    for number, own, now in zip(numbers, _met(made, numbers), _met(whole, numbers), strict=True):
        left, at = _left(own, now, np.radians(number * STEP), bore)
        owners = skin.owner[walls[bins == number]]
        found.append(ShankCut(left, int(np.bincount(owners).argmax()), fr.apply(band.frames[0], at[None])[0]))
    return min(found, key=lambda one: one.left, default=None)


def _met(corners: Floats, numbers: list[int]) -> Iterator[Floats]:
    """Of triangles (m, 3, 3), for each of some angles in steps those that a half plane there may meet."""
    turn = np.degrees(np.arctan2(corners[:, :, 0], corners[:, :, 2])) / STEP
    low, high = least(turn) - 0.01, most(turn) + 0.01
    back = 180.0 / STEP
    over = high - low > back  # over the back, or round the axis
    for number in numbers:
        met = over | ((low <= number) & (number <= high))
        yield corners[met | (low <= -back) | (high >= back) if abs(number) == back else met]


def _left(made: Floats, whole: Floats, turn: float, bore: float) -> tuple[float, Floats]:
    """The share of the section of ``made`` (m, 3, 3) outside the finger hole at an angle in which ``whole``
    has metal; its middle."""
    out, side = (np.array([np.sin(turn), 0.0, np.cos(turn)]), np.array([np.cos(turn), 0.0, -np.sin(turn)]))
    axes = np.stack((out, [0.0, 1.0, 0.0], side))
    lines = []
    for corners in (made, whole):
        ahead = corners[(corners @ out).max(axis=1) > 0]
        high = ahead @ side
        cut = ahead[(high.min(axis=1) < 0) & (high.max(axis=1) >= 0)]
        start, end, _, _ = cuts(np.ascontiguousarray(cut @ axes.T), np.zeros(1))
        mine = (start[:, 0] > 0) & (end[:, 0] > 0)
        lines.append((start[mine], end[mine]))
    ends = np.concatenate(lines[0])
    low, high = ends.min(axis=0), ends.max(axis=0)
    spots = low + EVEN * (high - low)
    spots = spots[within_edges(*lines[0], spots) & (spots[:, 0] > bore)]
    middle = spots.mean(axis=0)
    return float(within_edges(*lines[1], spots).mean()), middle[0] * out + (0.0, middle[1], 0.0)
