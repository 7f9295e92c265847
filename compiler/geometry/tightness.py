"""How tightly a line bends, and how near it comes to itself, for a section carried along it. All lengths in
mm.

A section reaches in each way as far as it really stands there: flat wire that lies in its bend takes half its
thickness, flat wire on edge half its width."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..measures.kinds import unit
from .line import Line

SHARPEST = math.radians(150.0)  # a corner that turns farther has no mitre
LONE = 4.0  # times its neighbours' turns, a turn that is all in one spot
MOST_SPOTS = 600
SPARES = np.array([1.05, 1.3, 1.6])  # of what it needs, a bend is opened to: house choice, no source
MOST_AWAY = 2.0  # times the half width of wire, what a bend may move as it opens: house choice, no source
CLEAN = math.radians(20.0)  # a line that crosses itself at less lies upon itself
BEND = math.pi / 2 * 1.05  # half round a bend as tight as may be, as a share of the wire's measure


@dataclass(frozen=True, eq=False)
class Tight:
    """What a line leaves (``seen``) and what the section needs, mm, and where, (3,)."""

    seen: float
    need: float
    at: np.ndarray


def reach(section: np.ndarray, left: np.ndarray, out: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """How far a ``section`` (k, 2) along ``left`` and ``out`` (n, 3) reaches in unit ``ways`` (n, 3):
    (n,)."""
    flat = np.stack([(ways * left).sum(axis=1), (ways * out).sum(axis=1)], axis=1)
    return np.asarray((flat @ section.T).max(axis=1))


def tightest(line: Line, section: np.ndarray) -> Tight:
    """The bend (radius) that leaves least of what the section needs inside; a short run at a corner
    counts."""
    ways, left = line.ways(), line.lefts()
    before, after = line.unit_chords()
    turning = after - before
    size = np.linalg.norm(turning, axis=1)
    need = reach(section, left, np.cross(ways, left), turning / np.maximum(size, 1e-12)[:, None])
    turn = 2 * np.arcsin(np.clip(size / 2, 0.0, 1.0))
    need[turn > SHARPEST] = np.linalg.norm(section, axis=1).max()
    radius = np.where(turn > 1e-9, line.spans() / np.maximum(turn, 1e-9), math.inf)
    # A slight turn all in one spot is no bend, but a mitre that takes next to nothing of its runs.
    padded = np.r_[turn[-1:], turn, turn[:1]] if line.closed else np.r_[0.0, turn, 0.0]
    radius[turn > LONE * np.maximum(padded[:-2], padded[2:])] = math.inf
    for at in line.corners().tolist():
        radius[at] = _mitre_radius(line, at, float(turn[at]))
    worst = int(np.argmin(radius / np.maximum(need, 1e-12)))
    return Tight(float(radius[worst]), float(need[worst]), line.points[worst])


def opened(line: Line, section: np.ndarray) -> Line:
    """A closed flat line with its bends opened as far as the ``section`` (k, 2) carried along it needs, as
    wire bends over its own half width and no tighter; as it was where that takes it farther away than so."""
    if not line.closed or line.face is not None or line.flat_frame() is None:
        return line
    bend = tightest(line, section)
    if bend.seen >= bend.need:
        return line
    for by in bend.need * SPARES:
        back = _over_and_back(_over_and_back(line, by), -by)
        if back is None or _away(line, back, by) > bend.need * MOST_AWAY:
            return line
        if tightest(back, section).seen >= bend.need:
            return back
    return line


def _over_and_back(line: Line | None, by: float) -> Line | None:
    """A line moved to its inner side and out again, which opens the bends that are used up on the way."""
    moved = None if line is None else line.inset(by)
    return None if moved is None else moved.inset(-by)


def _away(line: Line, other: Line, step: float) -> float:
    """How far the farthest point of a line lies from the ``other``, mm, to within half a ``step``."""
    return float(np.linalg.norm(line.points[:, None] - other.fine(step).points, axis=2).min(axis=1).max())


def _mitre_radius(line: Line, at: int, turn: float) -> float:
    """The half width a corner leaves room for: the shorter neighbouring run over tan(turn / 2)."""
    if turn > SHARPEST:
        return 0.0
    near = [line.run_length(run) for run in line.runs() if at in (run[0], run[1] % len(line.points))]
    return min(near) / math.tan(turn / 2) if near else math.inf


def nearest_pass(line: Line, section: np.ndarray) -> tuple[Tight | None, tuple[float, ...]]:
    """Where parts of the line that are not neighbours along it stand nearest for their sections,
    middle to middle, but for clean crossings; None where no two are near. Then the stations, mm from
    the start, half way between one crossing of itself and the next: between two of them it is simple."""
    total, far = line.length(), float(np.linalg.norm(section, axis=1).max())
    thin = min(size for size in np.ptp(section, axis=0).tolist() if size > 0.0)
    count = int(min(MOST_SPOTS, max(8, total / (thin / 3))))
    stations = np.linspace(0.0, total, count + 1)[: count if line.closed else None]
    frames = line.frames_at(stations)
    spots = frames[:, :, 3]
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    one, two = np.nonzero(apart < 2 * far + total / count)
    along = np.abs(stations[one] - stations[two])
    along = np.minimum(along, total - along) if line.closed else along
    way, left, out = (frames[one, :, k] for k in range(3))
    aside = spots[two] - spots[one]
    ahead = (aside * way).sum(axis=1)
    aside = aside - ahead[:, None] * way
    gap = np.linalg.norm(aside, axis=1)
    # Where the two meet in one spot they part to the side the other one turns to, or outward.
    turned = frames[two, :, 0] - (frames[two, :, 0] * way).sum(axis=1)[:, None] * way
    for other in (turned, out):
        aside = np.where(np.linalg.norm(aside, axis=1)[:, None] > 1e-6, aside, other)
    toward = unit(aside)
    need = reach(section, left, out, toward) + reach(section, frames[two, :, 1], frames[two, :, 2], -toward)
    kept = (np.abs(ahead) < 0.75 * total / count) & (along >= need * BEND) & (need > 1e-9)
    for centre, room in _corner_rooms(line, section):
        near = np.linalg.norm(spots - centre, axis=1) < room
        kept &= ~(near[one] & near[two])
    if not kept.any():
        return None, ()
    crossed = kept & (gap < need) & (np.linalg.norm(turned, axis=1) > math.sin(CLEAN))
    block, cuts = _crossings(line, stations, np.union1d(one[crossed], two[crossed]), far)
    kept &= ~(crossed & (block[one] != block[two]))
    if not kept.any():
        return None, cuts
    worst = int(np.argmin(np.where(kept, gap / np.maximum(need, 1e-9), math.inf)))
    return Tight(float(gap[worst].round(6)), float(need[worst]), spots[one[worst]]), cuts


def _crossings(
    line: Line, stations: np.ndarray, met: np.ndarray, far: float
) -> tuple[np.ndarray, tuple[float, ...]]:
    """Which crossing each of the ``stations`` (n,) belongs to, one number for each time the line comes by,
    and the stations half way between, from those ``met`` (k,); a crossing takes ``far`` mm to either side."""
    block = np.full(len(stations), -1)
    if not len(met):
        return block, ()
    room = 2 * math.ceil(far / (stations[1] - stations[0])) + 1
    first = met[np.flatnonzero(np.diff(met, prepend=met[0] - room - 1) > room)]
    last = met[np.flatnonzero(np.diff(met, append=met[-1] + room + 1) > room)]
    block[met] = np.searchsorted(first, met, side="right")
    cuts = (stations[last[:-1]] + stations[first[1:]]) / 2
    if line.closed:
        if met[0] + len(stations) - met[-1] > room:
            over = (stations[met[-1]] + stations[met[0]] + line.length()) / 2
            cuts = np.sort(np.append(cuts, over % line.length()))
        else:  # the last runs over the start into the first
            block[block == block[met[-1]]] = block[met[0]]
    return block, tuple(cuts.tolist())


def _corner_rooms(line: Line, section: np.ndarray) -> list[tuple[np.ndarray, float]]:
    """Each corner's spot, and how far along its runs their sections reach each other: there is the mitre."""
    ways, left = line.ways(), line.lefts()
    before, after = line.unit_chords()
    rooms = []
    for at in line.corners().tolist():
        k = slice(at, at + 1)
        inner = after[k] - before[k]
        inner = inner / max(float(np.linalg.norm(inner)), 1e-12)
        out = np.cross(ways[k], left[k])
        wide = sum(float(reach(section, left[k], out, side)[0]) for side in (inner, -inner))
        opening = math.acos(float(np.clip(-(before[at] @ after[at]), -1.0, 1.0)))
        rooms.append((line.points[at], wide / (2 * math.sin(max(opening, 1e-3) / 2)) * 1.1))
    return rooms
