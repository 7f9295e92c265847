"""Rows of stones spaced by their own sizes: even gaps, girdle to girdle, on any line. Lengths in mm.

Neighbours on a curve are a chord apart, not an arc: gaps are measured straight, as calipers would."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .line import Line

# How wide the stone at a share (0 to 1) of the row, the so-manieth of it, is along the row, mm.
Width = Callable[[float, int], float]
ROW_LIMIT = 2_000
CLOSE = 1e-10  # mm


@dataclass(frozen=True)
class Row:
    """Where stones stand: ``distances`` (n,) along the line, ``gap`` left between neighbours."""

    distances: np.ndarray
    gap: float


def shares(count: int, closed: bool) -> list[float]:
    """Each stone's share of the way along its row."""
    if count == 1:
        return [0.0]
    return [k / (count if closed else count - 1) for k in range(count)]


def _widths(width: Width, count: int, closed: bool) -> list[float]:
    """How wide each of ``count`` stones is along the row, mm."""
    return [width(share, place) for place, share in enumerate(shares(count, closed))]


def steps(widths: list[float], gap: float, closed: bool) -> np.ndarray:
    """Centre to centre of neighbours, (n,) closed or (n - 1,) open."""
    around = np.array(widths)
    after = np.roll(around, -1)
    both = (around + after) / 2 + gap
    return both if closed else both[:-1]


def straight(widths: list[float], gap: float) -> np.ndarray:
    """Positions (n,) of a straight row, its whole length centred on zero."""
    centres = np.concatenate([[0.0], np.cumsum(steps(widths, gap, False))])
    first, last = centres[0] - widths[0] / 2, centres[-1] + widths[-1] / 2
    return centres - (first + last) / 2


def ring(widths: list[float], gap: float) -> tuple[float, np.ndarray]:
    """Radius and angles (degrees, the first zero) of a circle that the row just closes."""
    if len(widths) == 1:
        return 0.0, np.zeros(1)
    chords = steps(widths, gap, True)
    low, high = float(chords.max()) / 2, float(chords.sum())
    for _ in range(200):
        radius = (low + high) / 2
        turn = float(np.arcsin(np.minimum(chords / (2 * radius), 1.0)).sum())
        low, high = (radius, high) if turn > math.pi else (low, radius)
    angles = np.degrees(2 * np.arcsin(np.minimum(chords / (2 * high), 1.0)))
    return high, np.concatenate([[0.0], np.cumsum(angles)[:-1]])


class Track:
    """A line as stations and points, twice round when closed, that can be walked in chords."""

    def __init__(self, line: Line) -> None:
        points = np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
        if line.closed:
            points = np.concatenate([points, points[1:]])
        self.points = points
        length = np.linalg.norm(np.diff(points, axis=0), axis=1)
        self.stations = np.concatenate([[0.0], np.cumsum(length)])
        self.length = float(self.stations[-1]) / (2 if line.closed else 1)

    def at(self, distance: float) -> np.ndarray:
        """The spot ``distance`` mm along."""
        return np.array([np.interp(distance, self.stations, self.points[:, k]) for k in range(3)])

    def next(self, start: float, chord: float) -> float | None:
        """The first station past ``start`` that lies ``chord`` mm from it, straight."""
        here = self.at(start)
        first = int(np.searchsorted(self.stations, start, side="right"))
        for stop in (first + 64, len(self.points)):  # mostly near: look there first
            away = np.linalg.norm(self.points[first:stop] - here, axis=1)
            beyond = np.flatnonzero(away >= chord)
            if len(beyond):
                return self._within(first + int(beyond[0]), start, here, chord)
        return None

    def _within(self, index: int, start: float, here: np.ndarray, chord: float) -> float:
        low = max(float(self.stations[index - 1]), start)
        a, b = self.at(low), self.points[index]
        way, off = b - a, a - here
        square, mixed = float(way @ way), float(way @ off)
        rest = float(off @ off) - chord * chord
        share = (-mixed + math.sqrt(max(mixed * mixed - square * rest, 0.0))) / max(square, 1e-300)
        return low + share * (float(self.stations[index]) - low)

    def off(self, station: float, spot: np.ndarray, away: float, way: int) -> float | None:
        """The station on (``way`` 1) or back (-1) from ``station`` from which on, near by, the track
        stays ``away`` mm or more off ``spot``; None when there is none on the track."""
        ahead = (self.stations - station) * way > 0
        ahead &= np.abs(self.stations - station) < 3 * away
        stations = np.r_[station, self.stations[ahead][::way]]
        points = np.concatenate([self.at(station)[None], self.points[ahead][::way]])
        apart = np.linalg.norm(points - spot, axis=1)
        within = np.flatnonzero(apart < away)
        if len(within) == 0:
            return station
        k = int(within[-1]) + 1
        if k == len(stations):
            return None
        share = (away - apart[k - 1]) / (apart[k] - apart[k - 1])
        return float(stations[k - 1] + share * (stations[k] - stations[k - 1]))

    def chord(self, one: float, other: float) -> float:
        """How far apart two stations lie, straight; those before the start of a closed line are a turn on."""
        ends = [self.at(station + self.length * (station < 0)) for station in (one, other)]
        return float(np.linalg.norm(ends[1] - ends[0]))

    def walk(self, start: float, chords: np.ndarray) -> list[float] | None:
        """Stations reached from ``start`` by the chords in turn; None when the line ends first."""
        marks = [start]
        for chord in chords:
            after = self.next(marks[-1], float(chord)) if chord > 0 else None
            if after is None:
                return None
            marks.append(after)
        return marks


def closed_row(line: Line, width: Width, gap: float | None, count: int | None) -> Row | None:
    """Stones round a closed line with even gaps: ``count`` of them, or as many as keep ``gap``. A
    graded row begins at the line's own start, unless the line has one farthest tip."""
    track, start, fold = Track(line), *_start(line)
    if fold > 1 and abs(width(0.0, 0) - width(0.5, 0)) > CLOSE:
        start = 0.0

    def tried(number: int) -> Row | None:
        widths = _widths(width, number, True)
        return spread(track, start, track.length, widths, True)

    if count is not None:
        return tried(count)
    gap = gap or 0.0
    mean = sum(width(k / 16, k) for k in range(16)) / 16
    number = (int(min(track.length / (mean + gap), ROW_LIMIT)) // fold + 1) * fold
    while number >= max(2, fold):
        row = tried(number)
        if row is not None and row.gap >= gap - 1e-9:
            return row
        number -= fold
    return None


def headed_row(line: Line, width: Width, gap: float, count: int) -> tuple[Row | None, bool]:
    """``count`` stones on a closed line, and whether they close it: a run with just ``gap`` between them,
    its middle at the line's start, where one more stone and its gap would have room; even all round else."""
    row, more = (closed_row(line, width, None, number) for number in (count, count + 1))
    if more is None or more.gap < gap - 1e-9:
        return row, True
    return open_row(line.part(-0.5, 0.5), width, gap, count), False


def spread(track: Track, start: float, length: float, widths: list[float], closed: bool) -> Row | None:
    """The even gap (it may be less than none) at which a row from ``start`` ends just ``length``
    mm farther on, found between too small and too large a gap."""
    if len(widths) == 1:
        return Row(np.array([start + (0.0 if closed else length / 2)]), 0.0)
    places = len(widths) if closed else len(widths) - 1
    straight_on = steps(widths, 0.0, closed)
    low, high = -float(straight_on.min()), length / places
    gap = (length - float(straight_on.sum())) / places
    best: tuple[float, float, list[float]] | None = None
    for tried in range(80):
        if not low < gap < high or (tried > 8 and tried % 2):  # few on a circle swing to and fro
            gap = (low + high) / 2
        marks = track.walk(start, straight_on + gap)
        short = -math.inf if marks is None else start + length - marks[-1]
        if marks is not None and (best is None or abs(short) < abs(best[0])):
            best = short, gap, marks
        if abs(short) < CLOSE:
            break
        low, high = (gap, high) if short > 0 else (low, gap)
        gap = gap + short / places  # minus without end where the row runs off the line
    if best is None or abs(best[0]) > 1e-6:
        return None
    _, gap, marks = best
    if closed:
        return Row(np.array(marks[:-1]) % track.length, gap)
    return Row(np.clip(np.array(marks), 0.0, track.stations[-1]), gap)


def open_row(line: Line, width: Width, gap: float | None, count: int | None, odd: bool = False) -> Row | None:
    """Stones along an open line with just ``gap`` between, the row centred on it; ``count`` of
    them without a gap are spread from end to end. ``odd`` keeps a stone in the very middle."""
    track = Track(line)
    if count is not None and gap is None:
        return spread(track, 0.0, track.length, _widths(width, count, False), False)
    gap = gap or 0.0
    if count is not None:
        return _open(track, _widths(width, count, False), gap)
    mean = sum(width(k / 16, k) for k in range(17)) / 17
    number = int(min((track.length + gap) / (mean + gap), ROW_LIMIT)) + 1
    while number >= 1:
        row = _open(track, _widths(width, number, False), gap)
        if row is not None and (number % 2 == 1 or not odd):
            return row
        number -= 1
    return None


def _open(track: Track, widths: list[float], gap: float) -> Row | None:
    chords = steps(widths, gap, False)
    start = (track.length - float(chords.sum()) - widths[-1] + widths[0]) / 2  # as on a straight line
    for _ in range(60):
        marks = track.walk(max(start, 0.0), chords)
        if marks is None:
            return None
        ends = (marks[0] - widths[0] / 2, track.length - marks[-1] - widths[-1] / 2)
        if ends[0] + ends[1] < -1e-6:
            return None
        if abs(ends[1] - ends[0]) < CLOSE:
            break
        start += (ends[1] - ends[0]) / 2
    return Row(np.clip(np.array(marks), 0.0, track.length), gap)


def _start(line: Line) -> tuple[float, int]:
    """Where a closed row begins (the tip of a pear, the corner of a square, else the line's own
    start), and of how many stones it must be a multiple to keep the line's symmetry."""
    even = line.frames_at(np.arange(256) * (line.length() / 256))[:, :, 3]
    centre = (line.points.min(axis=0) + line.points.max(axis=0)) / 2
    away = np.linalg.norm(even - centre, axis=1)
    if np.ptp(away) < 0.01 * away.max():
        return 0.0, 1
    reach = np.linalg.norm(line.points - centre, axis=1)
    far = int(np.flatnonzero(reach >= reach.max() - 1e-6 * reach.max())[0])
    start = float(np.linalg.norm(np.diff(line.points[: far + 1], axis=0), axis=1).sum())
    for fold in (4, 2):
        if np.abs(np.roll(away, 256 // fold) - away).max() < 0.01 * away.max():
            return start, fold
    return start, 1
