"""A cable chain turned about its length, so that each end link goes round the wire of the loop it lies in.

A chain is laid before what it is to meet is made. Lengths in mm, angles in degrees."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from .feature import Feature, Lines
from .hung import eyes, openings
from .linked import FLAT
from .plan import Step
from .slid import along
from .things import indices

if TYPE_CHECKING:
    from ..measures.kinds import Floats

# House choices by the play of a cable's links, no source.
ASKEW = 13.0  # how far off its loop a link may lie: it has as much play
LEAST, MOST = 1.0, 45.0  # turned from one link to the next: as good as none, and more than its play allows
PLAY = 0.06  # mm between two links that are turned
HALVES = 0.0, 180.0, -180.0  # a link turned by as much lies the same
TINY = 1e-6  # deg
SQUARE = 0.3  # cosine within which two links stand square
ALONG = 0.3  # of a unit, the least of a loop's wire that runs across its link

Loop = tuple["Floats", float]  # where it stands (3, 4), the radius of its wire
Link = tuple[Feature, int]  # a line of links, and which of its copies


def turned_ends(
    features: Sequence[Feature], lines: Sequence[Call], steps: Sequence[Step], hosts: Sequence[str]
) -> list[Step]:
    """The steps with every stretch of cable links turned to fit the loops at its ends, their features with
    them; of ``hosts``, in which something hangs, those alone that want no twist."""
    copied = {one for feature in features if feature.source is not None for one in indices(feature.source)}
    stretches = [*_stretches(features, lines, {one.feature for one in steps} - copied)]
    chained = {one.index for stretch in stretches for one, _ in stretch}
    moved: dict[int, Floats] = {}
    loops = [*_loops(one for one in features if one.index not in chained)] if stretches else []
    for stretch in stretches:
        hung = any(lines[stretch[0][0].index].name.startswith(f"{name}.") for name in hosts)
        turns = _turns(stretch, loops, hung)
        for (feature, k), turn in zip(stretch, turns, strict=True) if turns.any() else ():
            frames = moved.setdefault(feature.index, feature.frames.copy())
            frames[k] = fr.rounded(fr.compose(frames[k][None], fr.turned(0, float(turn))))[0]
    for index, frames in moved.items():
        features[index].frames = frames
    return [replace(one, frames=moved[one.feature]) if one.feature in moved else one for one in steps]


def _loops(features: Iterable[Feature]) -> Iterator[Loop]:
    """Where each loop and each drilled hole stands, and how far its wire is from its middle."""
    alone = [replace(one, members={}) for one in features if one.index >= 0]
    for loop, frames in (*(pair for one in alone for pair in openings(one)), *eyes(alone)):
        yield from ((frame, sum(loop.opening or ()) / 2) for frame in frames)


def _stretches(
    features: Sequence[Feature], lines: Sequence[Call], wanted: set[int]
) -> Iterator[list[Link]]:
    """The links of each stretch of cable in their order, every second one of another line."""
    rows: dict[int, list[Feature]] = {}
    for feature in features:
        if feature.index in wanted and lines[feature.index].within and _flat_link(feature):
            rows.setdefault(id(lines[feature.index].within[-1]), []).append(feature)
    for row in rows.values():
        each = zip_longest(*([(one, k) for k in range(len(one.frames))] for one in row))
        links = [link for pair in each for link in pair if link is not None]
        if len(row) == 2 and all(map(_linked, links, links[1:])):
            yield links


def _flat_link(feature: Feature) -> bool:
    """Whether copies of it are closed flat wires, longer than wide, their x the long way."""
    path = feature.offers["path"]() if feature.body is not None and "path" in feature.offers else None
    if not isinstance(path, Lines) or len(path.lines) != 1 or not path.lines[0].closed:
        return False
    long, wide, high = np.ptp(path.lines[0].points, axis=0)
    return len(feature.frames) > 1 and bool(long > wide > 0.0 and high < FLAT * wide)


def _linked(one: Link, other: Link) -> bool:
    """Whether two links go through one another, square to one another."""
    (at, beside), (line,) = (feature.frames[k] for feature, k in (one, other)), one[0].offers["path"]().lines
    near = np.linalg.norm(at[:, 3] - beside[:, 3]) < np.ptp(line.points[:, 0])
    return bool(near and abs(at[:, 2] @ beside[:, 2]) < SQUARE)


def _turns(stretch: list[Link], loops: Sequence[Loop], hung: bool) -> Floats:
    """How far each link of a stretch is turned about its length (n,), as good as not at all where something
    is ``hung`` in it. Short of links, its ends lie as far askew as they may."""
    still, steps = np.zeros(len(stretch)), len(stretch) - 1
    found = [_askew(stretch[k], stretch[k + way], loops) for k, way in ((0, 1), (-1, -1))]
    known = [turn for turn in found if turn is not None]
    if max(map(abs, known), default=0.0) < ASKEW:
        return still
    last = min((known[-1] + way for way in HALVES), key=lambda to: abs(to - known[0]))
    most, twist = LEAST if hung else _most(*stretch[:2]), last - known[0]
    spare = min(max(abs(twist) - most * steps, 0.0) / 2, ASKEW) * np.sign(twist)
    turns = np.linspace(known[0] + spare, last - spare, len(stretch))
    return turns if abs(turns[1] - turns[0]) <= most + TINY else still


def _most(one: Link, other: Link) -> float:
    """How far one link can be turned against the next, with play left between them."""
    (line,), thick = one[0].offers["path"]().lines, float(one[0].look("thick").value)
    spots = along(line.points)
    fixed = fr.apply(one[0].frames[one[1]], spots)
    for turn in np.arange(MOST, LEAST, -1.0).tolist():
        turned = fr.compose(other[0].frames[other[1]][None], fr.turned(0, turn))[0]
        gaps = np.linalg.norm(fixed[:, None] - fr.apply(turned, spots)[None], axis=2)
        if float(gaps.min()) - thick >= PLAY:
            return turn
    return LEAST


def _askew(link: Link, beside: Link, loops: Sequence[Loop]) -> float | None:
    """How far the end link of a chain is to be turned to lie square to the wire of the loop in its outer end;
    None where it lies in none."""
    feature, k = link
    at, other = feature.frames[k], beside[0].frames[beside[1]]
    (line,) = feature.offers["path"]().lines
    thick = float(feature.look("thick").value)
    long, wide, _ = np.ptp(line.points, axis=0)
    way = float(np.sign(at[:, 0] @ (at[:, 3] - other[:, 3])))
    bow = at[:, 3] + way * (long / 2 - thick) * at[:, 0]
    near = []
    for frame, radius in loops:
        go = bow - frame[:, 3]
        flat = go - (go @ frame[:, 2]) * frame[:, 2]
        size = float(np.linalg.norm(flat))
        if size > 0.0:
            off = float(np.linalg.norm(bow - frame[:, 3] - radius * flat / size))
            near.append((off, np.cross(frame[:, 2], flat / size)))
    off, runs = min(near, key=lambda one: one[0], default=(np.inf, np.zeros(3)))
    across, up = float(runs @ at[:, 2]), float(runs @ at[:, 1])
    if off > wide / 2 or np.hypot(across, up) < ALONG:
        return None
    turn = -float(np.degrees(np.arctan2(up, across)))
    return (turn + 90.0) % 180.0 - 90.0
