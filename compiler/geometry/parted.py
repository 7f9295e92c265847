"""Rows of stones round a closed line that make room for posts, as of a halo for claws. Lengths in mm."""

from __future__ import annotations

import math

import numpy as np

from .line import Line
from .spacing import Row, Track, spread

SQUARE = 60.0  # degrees; a corner that turns as far has a nook of its own
FINE = 0.05  # mm between points of a line on which places near to others are looked for
BARE = 1.3  # pitches from stone to stone past a post, from which on one more stands between them, beyond it
NEXT = 1.02  # pitches from that to its neighbours, at most


def parted_row(line: Line, width: float, gap: float, frames: np.ndarray, clear: float) -> Row | None:
    """Stones of one ``width`` round a closed line, as many as keep ``gap``, with a space where each
    post passes along the z of its frame (n, 3, 4), however far below or above its place: no middle of a
    stone is nearer to one than ``clear``. Even between any two posts. None where nothing fits."""
    line = line.fine(FINE)
    track, posts, ways = Track(line), frames[:, :, 3], frames[:, :, 2]
    high = np.einsum("mi,ni->nm", line.points, ways) - np.einsum("ni,ni->n", posts, ways)[:, None]
    apart = np.linalg.norm(line.points[None] - posts[:, None] - high[:, :, None] * ways[:, None], axis=2)
    apart[:, line.corners(SQUARE)] -= clear  # a claw on a corner stands in the corner's nook
    best = apart.argmin(axis=1)
    posts = posts + high[np.arange(len(best)), best][:, None] * ways
    nearest = track.stations[best]
    order = np.argsort(nearest)
    near, posts = nearest[order], posts[order]
    marks: list[float] = []
    least = math.inf
    pitch = width + gap
    nooks, arounds, bare = [], [], []
    for at, post in zip(near, posts, strict=True):
        nook, around = (_nook(track, at, post, pitch, clear, pitches) for pitches in (0.5, 1.0))
        far = float(np.linalg.norm(track.at(at) - post))
        bare.append(
            nook is not None and around is not None and far >= clear
            and track.chord(*nook) > BARE * pitch and track.chord(around[0], at) < NEXT * pitch
        )  # fmt: skip
        nooks.append(nook)
        arounds.append(around)
    # Its neighbours keep to it: not from one such point to the next, as of a square.
    beyond = [one and not bare[k - 1] and not bare[(k + 1) % len(bare)] for k, one in enumerate(bare)]
    nooks = [arounds[k] if one else nooks[k] for k, one in enumerate(beyond)]
    for k, nook in enumerate(nooks):
        marks += [float(near[k])] * beyond[k]
        following = nooks[(k + 1) % len(nooks)]
        if nook is None or following is None:
            continue
        first, last = nook[1], following[0] + (track.length if k == len(nooks) - 1 else 0.0)
        if last < first:
            continue
        after = (k + 1) % len(nooks)
        ends = [
            (track.chord(one[0], float(near[at])), 1.0) if beyond[at] else (track.chord(*one), 0.5)
            for one, at in ((nook, k), (following, after))
        ]
        row = _most(track, first, last - first, width, gap, ends)
        if row is not None:
            marks += row.distances.tolist()
            least = min(least, row.gap) if len(row.distances) > 1 else least
    if not marks:
        return None
    return Row(np.array(marks) % track.length, gap if least == math.inf else least)


def _nook(
    track: Track, station: float, post: np.ndarray, pitch: float, clear: float, pitches: float = 0.5
) -> tuple[float, float] | None:
    """Where the stones before and after a post may stand: off it, so many ``pitches`` from the station beside
    it, and ``pitch`` from each other, round a sharp corner too."""
    once = track.length if station < 3 * max(pitch, clear) else 0.0
    station += once  # so that the track goes on before it
    sides = []
    for way in (-1, 1):
        own = track.off(station, track.at(station), pitch * pitches, way)
        past = track.off(station, post, clear, way)
        if own is None or past is None:
            return None
        sides.append(max((own - station) * way, (past - station) * way))
    before, after = sides
    for _ in range(50):
        short = pitch - track.chord(station - before, station + after)
        if short <= 1e-9:
            break
        before, after = before + short / 2, after + short / 2
    return station - before - once, station + after - once


def _most(
    track: Track, start: float, length: float, width: float, gap: float, ends: list[tuple[float, float]]
) -> Row | None:
    """As many stones as keep the gap on the stretch from the start to ``length`` mm on. What is left over
    widens the gaps evenly, of ``ends`` too: the chord at each, and what share of its growth moves them."""
    for count in range(int(length / (width + gap)) + 2, 0, -1):
        low, high = 0.0, length + width + gap
        for _ in range(40):
            pitch = (low + high) / 2
            off = [max(pitch - chord, 0.0) * share for chord, share in ends]
            low, high = (pitch, high) if (count - 1) * pitch + sum(off) < length else (low, pitch)
        row = spread(track, start + off[0], length - sum(off), [width] * count, False)
        if row is not None and (count == 1 or row.gap >= gap - 1e-9):
            return row
    return None
