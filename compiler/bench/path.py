"""What a line offers to the rest of the text: its ends, its middle, its corners."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line, line_ends
from ..shapes.wire_face import WireFace
from .feature import Lines, Offer, Places
from .feature import length as mm

RUN = 1.0  # mm, a straight run is as long, and so many times as long as a chord of the bend it leads into
LONGER = 3.0


def path_offers(line: Line, rise: float = 0.0) -> dict[str, Offer]:
    """What a line offers; its straight runs, and of one round finger or wrist its head and back, ``rise`` mm
    out from it."""
    offers: dict[str, Offer] = {
        "path": lambda: Lines((line,)),
        "length": lambda: mm(line.length()),
        "middle": lambda: Places(line.frames_at(np.array([line.length() / 2]))),
        "corners": lambda: Places(_at_corners(line)),
        "runs": lambda: Places(_along_runs(line, rise)),
    }
    if not line.closed:
        offers["ends"] = lambda: Places(line_ends(line), of_line=True)
    course = WireFace(line, "round", 1.0, 1.0)
    if course.goes_round:
        offers["top"] = lambda: Places(course.head(rise))
        if line.closed:
            offers["bottom"] = lambda: Places(course.course(math.pi, rise))
    return offers


LEVEL = 1e-6  # mm
_TURNS = {
    "top": fr.turned(2, 90.0), "bottom": fr.turned(2, -90.0), "right": fr.identity(), "left": fr.flipped(0),
}  # fmt: skip


def flat_sides(line: Line) -> dict[str, Offer]:
    """What a flat line offers besides: its outermost places."""
    flat = np.ptp(line.points[:, 2]) < LEVEL
    return {name: partial(_side, line, name) for name in _TURNS} if flat else {}


def _side(line: Line, name: str) -> Places:
    """The outermost place of a flat line to one side, x pointing away from it."""
    turn = _TURNS[name]
    far = line.points @ turn[0, :, 0]
    last = line.points[far > far.max() - LEVEL]
    middle = (last.min(axis=0) + last.max(axis=0)) / 2
    return Places(fr.compose(fr.shifted(*middle.tolist()), turn), ends=True)


PATH_HELP = {
    "path": "the path itself",
    "length": "its length",
    "middle": "half way along, x running on: of a closed path round the finger at the palm",
    "top": "of a path round finger or wrist, its head, midway between arms that pass there, looking away",
    "bottom": "of a closed path round finger or wrist, its back, looking away from it",
    "corners": "where it turns sharply",
    "runs": "the middle of each straight run, x running on",
    "ends": "its two ends, facing away from it (open paths); out is as the path looks: away from a finger",
}

FLAT_HELP = {
    name: f"of a path drawn flat its outermost place there, x pointing away{rest}"
    for name, rest in (
        ("top", "; of one round finger or wrist its head, midway between arms that pass there"),
        ("bottom", "; of one round: its back"),
        ("right", ""), ("left", ""),
    )
}  # fmt: skip


def _at_corners(line: Line) -> np.ndarray:
    chords = line.chords()
    index = line.corners()
    if len(index) == 0:
        return np.zeros((0, 3, 4))
    return fr.from_axes(line.points[index], chords[index % len(chords)], line.outs[index])


def _along_runs(line: Line, rise: float) -> np.ndarray:
    """Half way along every straight run, square to it: a long chord, at either end of which a corner stands
    or a bend of short chords begins."""
    chords = line.chords()
    long = np.linalg.norm(chords, axis=1)
    sharp = np.isin(np.arange(len(line.points)), line.corners())
    count = len(long)
    start, end = np.arange(count), (np.arange(count) + 1) % len(line.points)
    before, after = long[start - 1], long[(start + 1) % count]
    opens, closes = sharp[start] | (long > LONGER * before), sharp[end] | (long > LONGER * after)
    if not line.closed:
        opens[0] = closes[-1] = True
    runs = (long > RUN) & opens & closes
    at = line.frames_at((np.cumsum(long) - long / 2)[runs])  # these lean toward a bend at one end
    frames = fr.from_axes(at[:, :, 3], chords[runs], at[:, :, 2])
    frames[:, :, 3] += rise * frames[:, :, 2]
    return frames
