"""Comparing drawings that were computed with other versions of the libraries."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
# What may differ between versions of numpy and of the kernel, and no more.
UNITS, SHARE = 4, 0.04


def alike(one: bytes, other: bytes) -> bool:
    """Whether two drawings look the same though computed with other libraries."""
    (box, ink), (other_box, other_ink) = _measured(one), _measured(other)
    near = all(abs(a - b) <= UNITS for a, b in zip(box, other_box, strict=True))
    return near and abs(ink - other_ink) <= SHARE * max(ink, other_ink)


def _measured(svg: bytes) -> tuple[list[float], float]:
    """The paper, and the length of all drawn lines, in units."""
    root = ElementTree.fromstring(svg)
    box = [float(part) for part in root.attrib["viewBox"].split()]
    drawn = [path.attrib["d"] for path in root.iter(f"{SVG}path") if "stroke" in path.attrib]
    return box, sum(_length(data) for data in drawn)


def _length(data: str) -> float:
    """Length of a path along its chords."""
    total = 0.0
    for letter, rest in re.findall(r"([la])([^a-zA-Z]*)", data):
        figures = [int(figure) for figure in re.findall(r"-?\d+", rest)]
        step = 2 if letter == "l" else 7
        for start in range(0, len(figures), step):
            total += math.hypot(*figures[start + step - 2 : start + step])
    return total
