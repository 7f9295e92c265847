"""Wire along a line: a section carried along a path, mitred at corners."""

from __future__ import annotations

import numpy as np

from ..geometry.line import Line
from ..measures.kinds import unit
from .doubled import skin
from .mesh import SolidMesh
from .wire_face import scales


def sweep(
    line: Line, section: np.ndarray, tolerance: float, widths: tuple[float, ...] = (1.0,),
    tips: bool | float = False, between: tuple[float, float] | None = None, wall: float = 0.0,
) -> SolidMesh:
    """A ``section`` carried along ``line``, its chords within ``tolerance`` mm of the line's true curve;
    thinned or widened through ``widths``, shares of its size at even spots from start to end: straight from
    one to another of two, flowing through more.

    ``section`` (2k, 2), counter-clockwise, has a point of the true section between every two of its mesh. Its
    first axis lies to the left of the way, its second outward (the line's out). Open lines get flat ends, or
    with ``tips`` ends rounded within the line's length, or drawn out over so many mm onto the foot of the
    section, level where that begins; closed ones close on themselves. Of one that crosses itself a stretch
    ``between`` two stations, mm from its start, is made at a time, with flat ends that fit those of the next.
    With a ``wall``, mm, it is a tube, open at flat ends."""
    wound = _wound(line)
    if wound > 2 * np.pi:
        section = _finer(section, wound / len(line.points), tolerance)
    first = line.runs()[0][0]  # the rows of a closed line begin at its first corner
    start = line.run_length((0, first)) if first else 0.0
    cuts = np.array(between or ()) - start
    marks = np.union1d(_marks(line, section, widths, tips, tolerance), cuts % line.length())
    if wound > 2 * np.pi:
        chords = np.linalg.norm(np.diff(line.points, axis=0, append=line.points[:1]), axis=1)
        marks = np.union1d(marks, np.cumsum(chords)[:-1])
    parts, start = [], 0.0
    for run in line.runs():
        parts.append(_stretch(line, run, tolerance, marks - start))
        start += line.run_length(run)
    rows = np.concatenate(parts)
    if not line.closed:
        rows = np.concatenate([rows, _at(line, line.runs()[-1], np.array([np.inf]))])
    centre, left, out = rows[:, 0], rows[:, 1], rows[:, 2]
    way = np.linalg.norm(np.diff(centre, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(way)])
    whole = along[-1] + (np.linalg.norm(centre[0] - centre[-1]) if line.closed else 0.0)
    size = scales(along / whole, widths)[:, None]
    half = np.abs(section).max(axis=0)
    drawn_out = not isinstance(tips, bool)
    left_over = _tips(along, whole, size * half, tips) if tips else np.ones((len(along), 2))
    sunk = size[:, 0] * (1 - left_over[:, 1]) * float(section[:, 1].min()) * drawn_out
    centre = centre + sunk[:, None] * out
    closed = line.closed and between is None
    sizes = [size * left_over] + ([size - wall / half] if wall else [])
    made = []
    for across, high in (one.T for one in sizes):
        fine = (
            centre[:, None, :]
            + across[:, None, None] * section[None, :, :1] * left[:, None, :]
            + high[:, None, None] * section[None, :, 1:] * out[:, None, :]
        )
        fine = _trimmed(fine, line, np.cumsum([0, *map(len, parts)]))
        if between is not None:
            fine = _cut_out(fine, along, whole, line.closed, cuts)
        made.append(skin(fine, closed, True))
    ends = [] if closed else [[section[::2] * one[end] for one in sizes] for end in (0, -1)]
    return _closed(made, ends)


def _wound(line: Line) -> float:
    """How far the way that a line looks winds about the line itself, radians."""
    chords = np.diff(line.points, axis=0)
    left = unit(np.cross(line.outs[:-1], chords))
    return float(np.arcsin(np.clip(np.abs((line.outs[1:] * left).sum(axis=1)), 0.0, 1.0)).sum())


def _finer(section: np.ndarray, turn: float, tolerance: float) -> np.ndarray:
    """A section (2k, 2) with more points on its straight sides: wound on by ``turn`` radians a row, a facet
    so wide is off by a quarter of its width times that."""
    after = np.roll(section, -1, axis=0)
    side = np.linalg.norm(after - section, axis=1)
    parts = np.maximum(np.ceil(side * turn / (4 * tolerance) - 1e-9).astype(int), 1)
    first = np.repeat(np.cumsum(parts) - parts, parts)
    share = ((np.arange(len(first)) - first) / np.repeat(parts, parts))[:, None]
    begin, end = np.repeat(section, parts, axis=0), np.repeat(after, parts, axis=0)
    return np.asarray(begin * (1 - share) + end * share)


def _trimmed(fine: np.ndarray, line: Line, ends: np.ndarray) -> np.ndarray:
    """Rows (n, 2k, 3) none of which reaches past the mitre of a corner: on its inner side the rows of a
    bent run cross it before the corner, where a straight run has none. A run ``i`` has the rows from
    ``ends[i]`` to ``ends[i + 1]``."""
    made, runs, count = fine.copy(), line.runs(), len(fine)
    corners = set(line.corners().tolist())
    for which, (first, _) in enumerate(runs):
        if first not in corners or not (which or line.closed):
            continue
        at = int(ends[which])
        sides = (-1, ends[which] - ends[which - 1] if which else ends[-1] - ends[-2])
        meets = []
        for step, rows in (sides, (1, ends[which + 1] - ends[which])):
            near = (at + step * np.arange(rows)) % count
            past = step * ((fine[near] - line.points[first]) @ line.ways()[first])
            for rail in np.flatnonzero(past[1] < 0.0) if rows > 1 else ():
                over = int(np.argmax(past[1:, rail] > 0.0)) + 1  # the first row on its own side
                if past[over, rail] <= 0.0:
                    continue  # the whole run is shorter than its mitre
                low, high = past[over - 1 : over + 1, rail]
                share = low / (low - high)
                meet = (1 - share) * fine[near[over - 1], rail] + share * fine[near[over], rail]
                meets.append((rail, meet, near[: over + 1]))
        for rail in {rail for rail, *_ in meets}:
            mine = [(meet, near) for one, meet, near in meets if one == rail]
            made[at, rail] = np.mean([meet for meet, _ in mine], axis=0)
            for _, near in mine:
                share = np.linspace(0.0, 1.0, len(near))[:, None]
                made[near, rail] = (1 - share) * made[at, rail] + share * fine[near[-1], rail]
    return made


def _cut_out(
    fine: np.ndarray, along: np.ndarray, whole: float, closed: bool, between: np.ndarray
) -> np.ndarray:
    """The rows between two stations; of a closed line they may pass its start."""
    if closed:
        fine, along = np.concatenate([fine, fine]), np.concatenate([along, along + whole])
        between = between + whole * (between[0] < -1e-9)
    first, last = (2 * int(np.argmin(np.abs(along[::2] - station))) for station in between)
    return fine[first : last + 1]


STRAIGHT = 4.0  # a chord so many times as long as its neighbour is a straight run, not part of a bend
STILL = 1e-6  # radians; what turns less is straight, its spots rounded
LEAST_TIP = 0.02  # a rounded end stops at this share of the section


def _tips(along: np.ndarray, whole: float, half: np.ndarray, tips: bool | float) -> np.ndarray:
    """How much of its width and height (n, 2) a wire has left near its rounded or drawn out ends;
    ``half`` are its half width and height there."""
    near = np.minimum(along, whole - along)[:, None]
    reach = np.minimum(half if tips is True else np.full_like(half, tips), whole / 2)
    back = np.clip(1.0 - near / np.maximum(reach, 1e-9), 0.0, 1.0)
    return np.asarray(np.maximum(np.sqrt(1.0 - back * back), LEAST_TIP))


def _marks(
    line: Line, section: np.ndarray, widths: tuple[float, ...], tips: bool | float, tolerance: float
) -> np.ndarray:
    """Distances along the line where the section changes, besides where the line bends."""
    whole = line.length()
    half = float(np.abs(section).max())
    found = [np.zeros(0)]
    if len(widths) > 2:
        deep = half * float(np.ptp(widths)) + 1e-9
        count = max(6, int(np.ceil(np.sqrt(deep / tolerance)))) * (len(widths) - 1)
        found.append(np.linspace(0.0, whole, count + 1))
    if tips:
        halves = np.abs(section).max(axis=0) if tips is True else (tips,)
        for reach, end in sorted({(float(r), e) for r in halves for e in (0, -1)}):
            reach = min(reach * (widths[end] if tips is True else 1.0), whole / 2)
            count = 2 * max(6, int(np.ceil(np.sqrt(reach / tolerance) * 0.8)))
            back = reach * (1.0 - np.cos(np.pi / 2 * np.arange(count + 1) / count))
            found.append(back if end == 0 else whole - back)
    return np.concatenate(found)


def _stretch(line: Line, run: tuple[int, int], tolerance: float, marks: np.ndarray) -> np.ndarray:
    """Rows of a run but for its end, every second a station of the mesh: (2k, 3, 3) of the line's
    place, the way to the left (a mitre's at corners), the way out."""
    steps = _steps(line, run, tolerance)
    length = line.run_length(run)
    inside = marks[(marks > 1e-6) & (marks < length - 1e-6)]
    if len(inside):
        steps = np.union1d(np.round(steps, 9), np.round(inside, 9))
        steps = steps[np.concatenate([[True], np.diff(steps) > 1e-7])]
    middles = (steps + np.append(steps[1:], length)) / 2
    return _at(line, run, np.stack([steps, middles], axis=1).reshape(-1))


def _at(line: Line, run: tuple[int, int], distances: np.ndarray) -> np.ndarray:
    """Place, left and out of a run at ``distances`` mm from its start, on the true curve through
    its points: a cubic between every two, along their tangents."""
    points, outs = line._run(run)
    chord = np.diff(points, axis=0)
    length = np.linalg.norm(chord, axis=1)
    ahead = chord / length[:, None]
    way = _tangents(ahead, length, line.closed and run[1] - run[0] == len(line.points))
    stations = np.concatenate([[0.0], np.cumsum(length)])
    distances = np.minimum(distances, stations[-1])
    k = np.clip(np.searchsorted(stations, distances, side="right") - 1, 0, len(chord) - 1)
    t = ((distances - stations[k]) / length[k])[:, None]
    first, last = way[k] * length[k][:, None], way[k + 1] * length[k][:, None]
    ease = t * t * (3.0 - 2.0 * t)
    place = points[k] + ease * chord[k] + t * (1 - t) * ((1 - t) * first - t * last)
    out = (1 - t) * outs[k] + t * outs[k + 1]
    tangent = 6 * t * (1 - t) * chord[k] + (1 - t) * (1 - 3 * t) * first + t * (3 * t - 2) * last
    left = unit(np.cross(out, tangent))
    out = unit(np.cross(tangent, left))
    # A run that begins or ends in a corner shares a mitre with its neighbour there.
    corners = set(line.corners().tolist())
    for where, index in ((0.0, run[0]), (stations[-1], run[1] % len(line.points))):
        if index in corners:
            met = distances == where
            left[met], out[met] = line.sides()[index], line.mitred(line.outs)[index]
    return np.stack([place, left, out], axis=1)


def _tangents(unit: np.ndarray, length: np.ndarray, round_: bool) -> np.ndarray:
    """Unit tangents (n + 1, 3) at the points of a smooth run of n chords: of the parabola through
    three points; at ends the way turns on as far as the chord has."""
    middle = _between(unit[:-1], unit[1:], length[:-1], length[1:])
    if round_:
        seam = _between(unit[-1:], unit[:1], length[-1:], length[:1])
        return np.concatenate([seam, middle, seam])
    if not len(middle):
        return np.concatenate([unit, unit])
    first, last = 2 * (unit[0] @ middle[0]) * unit[0] - middle[0], (
        2 * (unit[-1] @ middle[-1]) * unit[-1] - middle[-1]
    )
    return np.concatenate([first[None], middle, last[None]])


def _between(before: np.ndarray, after: np.ndarray, length: np.ndarray, following: np.ndarray) -> np.ndarray:
    """The tangent where chords meet: a straight run that leads into a bend stays straight."""
    shares = np.where(length > STRAIGHT * following, 0.0, length)
    others = np.where(following > STRAIGHT * length, 0.0, following)
    return unit(before * others[:, None] + after * shares[:, None])


def _closed(
    skins: list[tuple[np.ndarray, np.ndarray, np.ndarray]], ends: list[list[np.ndarray]]
) -> SolidMesh:
    """One mesh of the outer skin and that of a tube's hollow, if any, each (points, triangles, lift),
    with a cap on either of its ``ends``, whose sections (k, 2) these are."""
    from manifold3d import triangulate

    points, triangles, lift = skins[0]
    if len(skins) > 1:
        more, inner, sunk = skins[1]
        triangles = np.concatenate([triangles, inner[:, ::-1] + len(points)])
        points, lift = np.concatenate([points, more]), np.concatenate([lift, -sunk])
    face = np.arange(len(triangles))
    each = len(points) // len(skins)
    for which, rings in enumerate(ends):
        count = len(rings[0])
        loops = [ring if k == 0 else ring[::-1] for k, ring in enumerate(rings)]
        rows = [np.arange(count), np.arange(count)[::-1] + each][: len(rings)]
        places = np.concatenate(rows) + which * (each - count)
        cap = places[np.asarray(triangulate(loops), dtype=np.int64)]
        # Left x out points along the way: the end cap keeps the section's sense.
        triangles = np.concatenate([triangles, cap if which else cap[:, ::-1]])
        face = np.concatenate([face, np.full(len(cap), len(lift))])
        lift = np.append(lift, 0.0)
    return SolidMesh(points, triangles, face, lift)


def _steps(line: Line, run: tuple[int, int], tolerance: float) -> np.ndarray:
    """Distances along one run, the last left out, close enough for its sharpest bend."""
    points, _ = line._run(run)
    chords = np.diff(points, axis=0)
    length = np.linalg.norm(chords, axis=1)
    total = float(length.sum())
    unit = chords / length[:, None]
    turn = np.arccos(np.clip((unit[1:] * unit[:-1]).sum(axis=1), -1.0, 1.0))
    turn[turn < STILL] = 0.0
    # Each stretch needs sqrt(bend / (8 tolerance)) chords per mm; walk the running sum evenly.
    bend = turn / np.maximum((length[1:] + length[:-1]) / 2, 1e-12)
    at_chord = np.concatenate([bend[:1], (bend[1:] + bend[:-1]) / 2, bend[-1:]]) if len(bend) else 0
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
    marks[0] = 0.0  # also where a run begins straight
    return _with_bends(marks, stations, np.asarray(need), total)


def _with_bends(marks: np.ndarray, stations: np.ndarray, need: np.ndarray, total: float) -> np.ndarray:
    """``marks`` with the places where a straight stretch meets a curve added."""
    bent = need > 1e-9
    change = 1 + np.flatnonzero(bent[1:] != bent[:-1])
    joined = np.union1d(np.round(marks, 9), np.round(stations[change], 9))
    keep = np.concatenate([[True], np.diff(joined) > 1e-6 * max(total, 1.0)])
    return joined[keep]
