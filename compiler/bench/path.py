"""What a line offers to the rest of the text: its ends, its middle, its corners."""

from __future__ import annotations

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line, line_ends
from .feature import Lines, Offer, Places
from .feature import length as mm


def path_offers(line: Line) -> dict[str, Offer]:
    """What a line offers."""
    offers: dict[str, Offer] = {
        "path": lambda: Lines((line,)),
        "length": lambda: mm(line.length()),
        "middle": lambda: Places(line.frames_at(np.array([line.length() / 2]))),
        "corners": lambda: Places(_at_corners(line)),
    }
    if not line.closed:
        offers["ends"] = lambda: Places(line_ends(line))
    return offers


PATH_HELP = {
    "path": "the path itself",
    "length": "its length",
    "middle": "half way along, x running on",
    "corners": "where it turns sharply",
    "ends": "its two ends, facing away from it (open paths)",
}


def _at_corners(line: Line) -> np.ndarray:
    chords = line.chords()
    index = line.corners()
    if len(index) == 0:
        return np.zeros((0, 3, 4))
    return fr.from_axes(line.points[index], chords[index % len(chords)], line.outs[index])
