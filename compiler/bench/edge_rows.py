"""Rows along the edge of metal: from a place at an end of it to either side, as far as the edge turns no
sharp corner. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line
from ..measures.kinds import cross, unit

if TYPE_CHECKING:
    from .lumps import Corners

Edge = Callable[[np.ndarray], np.ndarray]
"""From how far up the edge (n,) to frames (n, 3, 4) seen from the place."""
ASIDE = 1.3e-4  # mm, the section is taken so far off a place, where no corner of metal lies
ON_EDGE = 0.05  # mm between a place and the edge it lies on
EITHER = 0.3  # mm to either side of a spot, between which it is seen which way the edge runs
BENT = np.cos(np.radians(30.0))  # an edge that turns more at one point has a corner there
ROUND = np.cos(np.radians(60.0))  # an edge that looks farther aside is another side of the metal
SAME = 1e-6  # mm


def along_edge(metal: Sequence[tuple[np.ndarray, Corners]], place: np.ndarray, far: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4), seen from a ``place`` (3, 4) whose x leads out of ``metal``, that lie ``far`` (n,)
    up (negative: down) its edge, x out of it there; straight on from where that turns a corner, and where
    there is none."""
    home, frames = fr.inverse(place), fr.identity(len(far))
    frames[:, 1, 3] = far
    runs = [run for _, corners in metal if (run := _run(fr.apply(home, corners.reshape(-1, 3))))]
    if runs:
        up, down = min(runs, key=lambda run: np.abs(run[0][0]).sum())
        for side, way in ((up, 1.0), (down, -1.0)):
            length = np.append(0.0, np.linalg.norm(np.diff(side, axis=0), axis=1).cumsum())
            for k in np.flatnonzero(far * way > 0):
                frames[k] = _at(side, length, abs(float(far[k])), way)
    return frames


def along_course(line: Line, place: np.ndarray, far: np.ndarray) -> np.ndarray:
    """The same beside the ``line`` of round wire, as far from it as the place is, whatever strands that is
    twisted of; straight on past its ends."""
    total = line.length()
    start = line.frames_at(np.array([line.share_at(place[:, 3]) * total]))[0]
    off, up = (place[:, 3] - start[:, 3]) @ place[:, 0], 1.0 if start[:, 0] @ place[:, 1] > 0 else -1.0
    stations = line.share_at(place[:, 3]) * total + up * far
    kept = stations % total if line.closed else np.clip(stations, 0.0, total)
    past = 0.0 * kept if line.closed else stations - kept
    spots, ahead = line.frames_at(kept), np.broadcast_to(place[:, 2], (len(far), 3))
    out = unit(cross(up * spots[:, :, 0], ahead))
    at = spots[:, :, 3] + past[:, None] * spots[:, :, 0] + off * out
    return fr.composed(fr.inverse(place)[None], fr.from_axes(at, out, ahead))


def _at(side: np.ndarray, length: np.ndarray, far: float, way: float) -> np.ndarray:
    """The frame (3, 4) ``far`` along points (n, 2) of an edge, from where it goes straight on."""
    before, here, after = (_spot(side, length, far + step) for step in (-EITHER, 0.0, EITHER))
    run = way * (after - before) / np.linalg.norm(after - before)
    frame = fr.identity()[0]
    frame[:2, 0], frame[:2, 1], frame[:2, 3] = (run[1], -run[0]), run, here
    return frame


def _spot(side: np.ndarray, length: np.ndarray, far: float) -> np.ndarray:
    if far < 0.0:
        return side[0] + far * (side[1] - side[0]) / length[1]
    if far > length[-1]:
        return side[-1] + (far - length[-1]) * (side[-1] - side[-2]) / (length[-1] - length[-2])
    return np.array([np.interp(far, length, side[:, axis]) for axis in (0, 1)])


def _run(spots: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """The edge of triangles whose corners (3 m, 3) are seen from a place: points (n, 2) up from there, and
    down; None where it does not lie there."""
    ways: dict[tuple[float, ...], list[np.ndarray]] = {}
    for one, two in _section(spots.reshape(-1, 3, 3)):
        if np.linalg.norm(two - one) > SAME:
            ways.setdefault(_key(one), []).append(two)
            ways.setdefault(_key(two), []).append(one)
    near = [
        (one, two) for one in ways for two in map(_key, ways[one])
        if one[1] < 0.0 <= two[1] and abs(one[0] + (two[0] - one[0]) * one[1] / (one[1] - two[1])) < ON_EDGE
    ]  # fmt: skip
    if not near:
        return None
    low, high = near[0]
    start = np.array([low[0] + (high[0] - low[0]) * low[1] / (low[1] - high[1]), 0.0])
    ends = np.array(low), np.array(high)
    return _walk(ways, start, *ends), _walk(ways, start, *ends[::-1])


def _walk(
    ways: dict[tuple[float, ...], list[np.ndarray]], start: np.ndarray, last: np.ndarray, here: np.ndarray
) -> np.ndarray:
    """Points of an edge from ``start`` on by ``here``, away from ``last``, as far as it turns no corner."""
    found, first = [start], (here - last) / np.linalg.norm(here - last)
    if np.linalg.norm(here - start) > SAME:
        found.append(here)
    while True:
        further = [one for one in ways.get(_key(here), ()) if _key(one) != _key(last)]
        if len(further) != 1 or len(found) > len(ways):
            break
        step, gone = further[0] - here, here - last
        step_way = step / np.linalg.norm(step)
        if step_way @ gone / np.linalg.norm(gone) < BENT or step_way @ first < ROUND:
            break
        last, here = here, further[0]
        found.append(here)
    return np.array(found if len(found) > 1 else [start, start + first])


def _key(spot: np.ndarray | tuple[float, ...]) -> tuple[float, ...]:
    return tuple(np.round(np.asarray(spot, dtype=float), 5).tolist())


def _section(corners: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Where triangles (m, 3, 3) cross the plane a little before z = 0: ends (2,) of each piece."""
    high = corners[:, :, 2] - ASIDE
    crossing = corners[(high.min(axis=1) < 0.0) & (high.max(axis=1) > 0.0)]
    found = []
    for three in crossing:
        ends = []
        for one, two in ((0, 1), (1, 2), (2, 0)):
            low, top = three[one, 2] - ASIDE, three[two, 2] - ASIDE
            if low * top < 0.0:
                ends.append(three[one, :2] + (three[two, :2] - three[one, :2]) * low / (low - top))
        if len(ends) == 2:
            found.append((ends[0], ends[1]))
    return found
