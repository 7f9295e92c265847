"""Wire along a line: a section carried along a path, mitred at corners."""

from __future__ import annotations

import numpy as np

from ..geometry.line import Line
from .mesh import SolidMesh, smooth_turns


def sweep(
    line: Line, section: np.ndarray, curved: bool = True, scale: np.ndarray | None = None
) -> SolidMesh:
    """``section`` (k, 2), counter-clockwise, carried along ``line``; at each of its points
    ``scale`` times as large (open lines).

    The section's first axis lies to the left of the way, its second outward (the line's out).
    Open lines get flat ends, closed ones close on themselves.
    """
    left, out = line.sides(), line.mitred(line.outs)
    count, around = len(line.points), len(section)
    size = np.ones(count) if scale is None else scale
    rings = (
        line.points[:, None, :]
        + section[None, :, :1] * (size[:, None] * left)[:, None, :]
        + section[None, :, 1:] * (size[:, None] * out)[:, None, :]
    )
    points = rings.reshape(-1, 3)
    index = np.arange(count * around).reshape(count, around)
    there = np.roll(index, -1, axis=0) if line.closed else index[1:]
    here = index if line.closed else index[:-1]
    triangles, face = _skin(here, there)
    lift = _lift(line, section, rings, curved, size)
    if not line.closed:
        triangles, face, lift = _with_ends(triangles, face, lift, index, section)
    return SolidMesh(points, triangles, face, lift)


def _skin(here: np.ndarray, there: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    a, b = here, np.roll(here, -1, axis=1)
    c, d = np.roll(there, -1, axis=1), there
    quads = np.stack([np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)], axis=2)
    face = np.repeat(np.arange(here.size), 2)
    return quads.reshape(-1, 3), face


def _lift(
    line: Line, section: np.ndarray, rings: np.ndarray, curved: bool, size: np.ndarray
) -> np.ndarray:
    """Mean distance to the true surface of each facet of the skin, station by station."""
    chord = np.linalg.norm(np.roll(section, -1, axis=0) - section, axis=1)
    around = chord**2 * (smooth_turns(section) if curved else 0.0) / 12.0
    here = rings if line.closed else rings[:-1]
    there = np.roll(rings, -1, axis=0) if line.closed else rings[1:]
    way = (there - here + np.roll(there, -1, axis=1) - np.roll(here, -1, axis=1)) / 2
    # A taper's facets are wider where their sagitta is larger: the mean weighs by area.
    first, last = (size, np.roll(size, -1)) if line.closed else (size[:-1], size[1:])
    mean = (first**2 + first * last + last**2) / (first + last) * (2.0 / 3.0)
    along = _bend(line, way, section, mean)
    return (mean[:, None] * around[None, :] + along).reshape(-1)


def _bend(line: Line, way: np.ndarray, section: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Sagitta of the path's own curve at each facet: bend x length^2 / 12 along the normal."""
    chords = line.chords()
    length = np.linalg.norm(chords, axis=1, keepdims=True)
    unit = chords / length
    change = np.roll(unit, -1, axis=0) - unit
    smooth = (unit * np.roll(unit, -1, axis=0)).sum(axis=1) > np.cos(np.radians(20.0))
    alike = np.abs(np.roll(length, -1, axis=0) - length)[:, 0] < 0.25 * length[:, 0]
    usable = smooth & alike
    if not line.closed:
        usable[-1] = False
    curve = np.where(usable[:, None], change / length, 0.0)
    before = np.roll(curve, 1, axis=0)
    share = usable.astype(float) + np.roll(usable, 1)
    curve = (curve + before) / np.maximum(share, 1.0)[
        :, None
    ]  # points to the centre of the bend
    sides = np.roll(section, -1, axis=0) - section
    normal2 = np.stack([sides[:, 1], -sides[:, 0]], axis=1)
    normal2 = normal2 / np.maximum(np.linalg.norm(normal2, axis=1, keepdims=True), 1e-300)
    left, out = line.lefts(), line.outs
    here = slice(0, len(chords))
    normal = normal2[None, :, :1] * left[here, None] + normal2[None, :, 1:] * out[here, None]
    toward = -(normal * curve[:, None, :]).sum(axis=2)
    beyond = size[:, None] * (_mitres(line, section)[here] * normal).sum(axis=2)
    # A facet off the middle line bends with its own radius: one length is its own, one the
    # line's.
    return toward * np.linalg.norm(way, axis=2) * length / 12.0 - beyond


def _mitres(line: Line, section: np.ndarray) -> np.ndarray:
    """How far the mitres of smooth bends carry each facet beyond the true surface, (n, around, 3)
    mm.

    Mitred rings are a little wide: they keep each straight piece whole, but a bent wire has no
    mitres. True corners have, and are left alone.
    """
    excess = np.stack([line.sides() - line.lefts(), line.mitred(line.outs) - line.outs])
    excess[:, line.corners()] = 0.0
    both = (excess + np.roll(excess, -1, axis=1)) / 2
    across = (section + np.roll(section, -1, axis=0)) / 2
    return np.einsum("knd,ak->nad", both, across)


def _with_ends(
    triangles: np.ndarray,
    face: np.ndarray,
    lift: np.ndarray,
    index: np.ndarray,
    section: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    from manifold3d import triangulate

    cap = np.asarray(triangulate([section]), dtype=np.int64)
    # Left x out points along the way: the end cap keeps the section's sense.
    start, end = index[0][cap][:, ::-1], index[-1][cap]
    faces = len(lift)
    return (
        np.concatenate([triangles, start, end]),
        np.concatenate([face, np.full(len(cap), faces), np.full(len(cap), faces + 1)]),
        np.concatenate([lift, [0.0, 0.0]]),
    )


def thinned(line: Line, tolerance: float) -> Line:
    """The line with as few points as keep its chords within ``tolerance`` mm, corners kept.

    Each run is resampled evenly so that neighbouring chords stay alike.
    """
    points, outs = [], []
    for run in line.runs():
        frames = line.frames_at(_steps(line, run, tolerance), run)
        points.append(frames[:, :, 3])
        outs += [line.outs[run[0] : run[0] + 1], frames[1:, :, 2]]  # at a corner: its own
    if not line.closed:
        points.append(line.points[-1:])
        outs.append(line.outs[-1:])
    return Line(np.concatenate(points), np.concatenate(outs), line.closed)


def _steps(line: Line, run: tuple[int, int], tolerance: float) -> np.ndarray:
    """Distances along one run, the last left out, close enough for its sharpest bend."""
    points, _ = line._run(run)
    chords = np.diff(points, axis=0)
    length = np.linalg.norm(chords, axis=1)
    total = float(length.sum())
    unit = chords / length[:, None]
    turn = np.arccos(np.clip((unit[1:] * unit[:-1]).sum(axis=1), -1.0, 1.0))
    # Each stretch needs sqrt(bend / (8 tolerance)) chords per mm; walk the running sum evenly.
    bend = turn / np.maximum((length[1:] + length[:-1]) / 2, 1e-12)
    at_chord = (
        np.concatenate([bend[:1], (bend[1:] + bend[:-1]) / 2, bend[-1:]]) if len(bend) else 0
    )
    need = np.sqrt(np.asarray(at_chord) / (8 * tolerance)) * length
    effort = np.concatenate([[0.0], np.cumsum(need)])
    count = max(1, int(np.ceil(effort[-1] - 1e-6)))
    whole_turn = float(turn.sum()) if len(turn) else 0.0
    count = max(count, int(np.ceil(whole_turn / np.radians(18.0))))
    stations = np.concatenate([[0.0], np.cumsum(length)])
    if effort[-1] <= 1e-9:
        return np.array([0.0])
    # Straight stretches need no points inside, but an end on each side of a curve.
    marks = np.interp(np.arange(count) * (effort[-1] / count), effort, stations)
    return _with_bends(marks, stations, np.asarray(need), total)


def _with_bends(
    marks: np.ndarray, stations: np.ndarray, need: np.ndarray, total: float
) -> np.ndarray:
    """``marks`` with the places where a straight stretch meets a curve added."""
    bent = need > 1e-9
    change = 1 + np.flatnonzero(bent[1:] != bent[:-1])
    joined = np.union1d(np.round(marks, 9), np.round(stations[change], 9))
    keep = np.concatenate([[True], np.diff(joined) > 1e-6 * max(total, 1.0)])
    return joined[keep]
