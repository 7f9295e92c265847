"""What a line offers to the rest of the text: its ends, its middle, its corners."""

from __future__ import annotations

import math

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line, line_ends
from ..shapes.wire_face import WireFace
from .feature import Lines, Offer, Places
from .feature import length as mm


def path_offers(line: Line, rise: float = 0.0) -> dict[str, Offer]:
    """What a line offers; of one round finger or wrist, its head and back too, ``rise`` mm out from it."""
    offers: dict[str, Offer] = {
        "path": lambda: Lines((line,)),
        "length": lambda: mm(line.length()),
        "middle": lambda: Places(line.frames_at(np.array([line.length() / 2]))),
        "corners": lambda: Places(_at_corners(line)),
    }
    if not line.closed:
        offers["ends"] = lambda: Places(line_ends(line))
    course = WireFace(line, "round", 1.0, 1.0)
    if course.goes_round:
        offers["top"] = lambda: Places(course.course(0.0, rise))
        if line.closed:
            offers["bottom"] = lambda: Places(course.course(math.pi, rise))
    return offers


PATH_HELP = {
    "path": "the path itself",
    "length": "its length",
    "middle": "half way along, x running on: of a closed path round the finger at the palm",
    "top": "of a path round finger or wrist, its head, looking away from it",
    "bottom": "of a closed path round finger or wrist, its back, looking away from it",
    "corners": "where it turns sharply",
    "ends": "its two ends, facing away from it (open paths)",
}


def _at_corners(line: Line) -> np.ndarray:
    chords = line.chords()
    index = line.corners()
    if len(index) == 0:
        return np.zeros((0, 3, 4))
    return fr.from_axes(line.points[index], chords[index % len(chords)], line.outs[index])
