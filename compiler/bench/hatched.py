"""Lines side by side over the real face of a part: the strokes of a brush, a graver's shading. Lengths mm."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ..geometry.line import Line
from ..geometry.surfaces import Edged
from .faces import face_of
from .patterns import COPIES_LIMIT, too_many
from .worked import real

STEP = 0.3  # mm between the spots of a line: 1.2 microns off at a radius of 10 mm
JUMP = 0.7  # of that step, a face that drops further from spot to spot has a wall there
PAST = 3 * STEP  # mm, a line with nothing kept from the edge of its face runs on over it
ACROSS = 0.1  # the sine of the least angle to the way round a ring at which lines run from edge to edge
LEVEL = 1e-4  # mm off a straight line


def hatched(call: Call) -> list[Line]:
    """The lines of `upon`: `every` so far apart, `turn` off the right, `inset` from the edges."""
    feature, surface = face_of(call, "upon")
    every = call.get("every")
    if every is None:
        call.refuse("clause-missing", "upon a face wants the pitch", "upon", remedy="add 'every 0.6 mm'")
    low, high = surface.span()
    inset, round_ = call.get("inset", 0.0), surface.goes_round
    turn = np.radians(call.get("turn", 0.0))
    way, aside = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    slanted = round_ and abs(way[1]) > ACROSS
    if slanted:  # from edge to edge, evenly all round
        half, far = (high - low)[1] / 2 / abs(way[1]), float(high[0] - low[0])
        starts = low[0] + far * np.arange(count := max(1, round(far * abs(way[1]) / every[0]))) / count
        rows = np.column_stack([starts, np.zeros(count)])
    else:
        if round_:
            way, aside = np.array([1.0, 0.0]), np.array([0.0, 1.0])
        spread = np.abs(aside) @ (high - low) / 2 - max(inset, every[0] / 2)
        count = int(max(spread, 0.0) * 2 / every[0] + 1e-9) + 1
        rows = (low + high) / 2 + ((np.arange(count) - (count - 1) / 2) * every[0])[:, None] * aside
        half = float(np.abs(way) @ (high - low) / 2)
    if count > COPIES_LIMIT / 10:
        too_many(call, count)
    steps = max(2, int(np.ceil(2 * half / STEP)))
    along = np.linspace(-half, half, steps + 1)
    home = (feature.frames if feature.ground is None else feature.ground)[0]
    found = []
    for row in rows:
        spots = row + along[:, None] * way
        if round_ and not slanted and isinstance(surface, Edged):  # both edges alike, however it narrows
            spots[:, 1] *= np.maximum(surface.halves(along) - inset, 0.0) / max(high[1] - inset, LEVEL)
        flat = surface.stood(spots)
        there = np.isfinite(flat).all(axis=(1, 2))
        for off in inset * np.array([way, -way, aside, -aside]) if inset else ():
            there &= np.isfinite(surface.stood(spots + off)).all(axis=(1, 2))
        stood = real(feature.worked, flat)
        whole = round_ and not slanted and bool(there.all()) and _meets(stood)
        found += [one.moved(home) for one in _runs(stood, there, whole, 0.0 if inset else PAST)]
    if not found:
        call.refuse("no-places", f"nothing fits {inset:g} mm inside {feature.name}", "upon",
                    remedy="make inset or every smaller")  # fmt: skip
    return found


def _meets(stood: np.ndarray) -> bool:
    """Whether a line ends where it began."""
    return bool(np.linalg.norm(stood[0, :, 3] - stood[-1, :, 3]) < STEP / 10)


def _runs(stood: np.ndarray, there: np.ndarray, whole: bool, past: float) -> list[Line]:
    """The stretches of one line of frames (n, 3, 4) that lie on the face and on one side of its walls."""
    if whole:
        return [Line(stood[:-1, :, 3], stood[:-1, :, 2], True)]
    spots, outs = stood[:, :, 3], stood[:, :, 2]
    sinks = np.abs((np.diff(spots, axis=0) * outs[:-1]).sum(axis=1)) > JUMP * STEP
    joined = there[:-1] & there[1:] & ~sinks
    wall = np.convolve(sinks & there[:-1] & there[1:], np.ones(3), "same") > 0
    joined &= ~wall  # beside a wall a face looks another way
    edges = np.flatnonzero(np.diff(np.r_[0, joined.astype(int), 0]))
    made = []
    for first, last in edges.reshape(-1, 2).tolist():
        points, ways = spots[first : last + 1].copy(), outs[first : last + 1]
        for end, at, way in ((0, first, -1), (-1, last, 1)):
            go = points[end] - points[end - way]
            points[end] += go / np.linalg.norm(go) * (past if _is_edge(stood, there, at, way) else 0.0)
        made.append(_straightened(points, ways))
    return made


def _is_edge(stood: np.ndarray, there: np.ndarray, at: int, way: int) -> bool:
    """Whether a face ends, or falls away, past the spot ``at`` of a line."""
    after = at + way * np.arange(1, 4)
    after = after[(after >= 0) & (after < len(there))]
    if len(after) < 3 or not there[after].all():
        return True
    rise = (stood[after, :, 3] - stood[at, :, 3]) @ stood[at, :, 2]
    return bool(rise.min() < -JUMP * STEP)


def _straightened(points: np.ndarray, outs: np.ndarray) -> Line:
    """A line, of its two ends alone where it is straight."""
    chord = points[-1] - points[0]
    off = np.cross(points - points[0], chord / np.linalg.norm(chord))
    if np.linalg.norm(off, axis=1).max() < LEVEL and np.ptp(outs, axis=0).max() < LEVEL:
        points, outs = points[[0, -1]], outs[[0, -1]]
    return Line(points, outs, False)
