"""How the views of a drawing stand to one another: first-angle or third-angle projection, and the sign that
says so.

ISO 5456-2 (its clauses from memory): in third-angle projection each view stands on the side it is seen from,
in first-angle on the other side. The side view is the one the others stand to. Corner views are for show and
belong to neither; the back is turned over sideways, as one turns a piece in the hand. The sign is a cut-off
cone, seen from the side and from its narrow end, which is its left one: so that view stands at the left in
third angle, at the right in first."""

from __future__ import annotations

from collections.abc import Mapping

from .paper import BLACK
from .svg import UNITS, element, numbers

FIRST, THIRD = "first", "third"
Places = Mapping[str, tuple[int, int]]
# Column and row of each view; nothing else stands where a view of that name could.
PLACES: Mapping[str, Places] = {
    THIRD: {
        "face": (1, 0), "far-end": (0, 1), "side": (1, 1), "end": (2, 1), "far-side": (3, 1),
        "back": (1, 2), "corner": (2, 0), "back-corner": (2, 2),
    },
    FIRST: {
        "back": (1, 0), "end": (0, 1), "side": (1, 1), "far-end": (2, 1), "far-side": (3, 1),
        "face": (1, 2), "corner": (0, 2), "back-corner": (0, 0),
    },
}  # fmt: skip
# All in one column, which suits long pieces.
BELOW: Places = {
    name: (0, row)
    for row, name in enumerate(
        ("face", "side", "end", "back", "far-side", "far-end", "corner", "back-corner")
    )
}
_TALL, _NARROW, _LONG, _GAP = 4.0, 2.0, 4.0, 1.6  # mm


def symbol(projection: str, right: float, low: float) -> list[str]:
    """The sign of a projection, its lower right at (right, low) mm."""
    wide = _LONG + _GAP + _TALL
    left = right - wide
    middle = low - _TALL / 2
    cone = left if projection == FIRST else left + _TALL + _GAP
    eye = (left + _LONG + _GAP if projection == FIRST else left) + _TALL / 2
    ends = [
        (cone, middle - _NARROW / 2), (cone + _LONG, middle - _TALL / 2),
        (cone + _LONG, middle + _TALL / 2), (cone, middle + _NARROW / 2),
    ]  # fmt: skip
    data = "M" + "L".join(numbers((round(x * UNITS), round(y * UNITS))) for x, y in ends) + "z"
    axis = f"M{numbers((round((left - 0.8) * UNITS), round(middle * UNITS)))}H{round((right + 0.8) * UNITS)}"
    above = round(eye * UNITS), round((middle - _TALL / 2 - 0.8) * UNITS)
    up = f"M{numbers(above)}v{round((_TALL + 1.6) * UNITS)}"
    rings = [
        element("circle", cx=round(eye * UNITS), cy=round(middle * UNITS), r=round(across / 2 * UNITS),
                stroke=BLACK, stroke_width=5)
        for across in (_NARROW, _TALL)
    ]  # fmt: skip
    return [
        element("path", stroke=BLACK, stroke_width=5, d=data),
        *rings,
        element("path", stroke=BLACK, stroke_width=3, stroke_dasharray="16 6 4 6", d=axis + up),
    ]
