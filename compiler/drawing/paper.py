"""A view on paper: widths of lines, tints, numbers, dimension lines.

Lines after ISO 128-2 and ISO 129-1 as far as they fit a picture (from memory): widths from the series 0.13
0.18 0.25 0.35 0.5 mm, outlines twice as wide as thin lines; dimension and extension lines thin and whole;
filled arrowheads of some 20 degrees; figures above their line, read from below or from the right. Tinted
areas are our own."""

from __future__ import annotations

from dataclasses import dataclass

from .picture import MARGIN, Ink, Picture
from .svg import UNITS, element, numbers, path_data, words
from .tints import deep
from .visible import EDGE, FACETS, OUTLINE

BLACK = "#23211f"
GREY = "#6b6763"
RED = "#b3261e"
_WIDTHS = {OUTLINE: 0.35, EDGE: 0.25, FACETS: 0.13}
_THIN = 0.18
_FINER = ((3.5, 1.0), (1.8, 0.71), (0.0, 0.5))  # from which scale on, share of the widths
FIGURE = 2.8  # mm, height of writing
ROOM = 8.0  # mm of paper a dimension line takes beside a view
_ARROW = (1.8, 0.32)  # mm, length and half width: some 20 degrees


@dataclass(frozen=True)
class Placed:
    """A picture with its upper left on paper at (left, top) mm, ``scale`` times its size."""

    picture: Picture
    left: float
    top: float
    scale: float

    @property
    def wide(self) -> float:
        """Mm of paper across."""
        return self.picture.box.wide * self.scale

    @property
    def tall(self) -> float:
        """Mm of paper from top to bottom."""
        return self.picture.box.tall * self.scale

    def factor(self) -> float:
        """Units of paper to a pixel."""
        return self.picture.pixel * self.scale * UNITS

    def corner(self) -> tuple[float, float]:
        """Where pixel (0, 0) lies, in units."""
        inset = MARGIN * self.factor()
        return self.left * UNITS - inset, self.top * UNITS - inset


def drawn(placed: Placed, weight: float | None = None) -> list[str]:
    """Tints, then lines, finest first; ``weight``: share of the usual widths (less for small pictures)."""
    if weight is None:
        weight = next(share for least, share in _FINER if placed.scale >= least)
    left, top = placed.corner()
    factor = placed.factor()
    said = []
    for area in placed.picture.areas:
        data = path_data(area.runs, left, top, factor)
        if data:
            said.append(element("path", fill=area.colour, fill_rule="evenodd", d=data))
    for ink in placed.picture.inks:
        data = path_data(ink.runs, left, top, factor)
        if data:
            colour = deep(ink.colour, 0.5) if ink.stone else BLACK
            said.append(element("path", stroke=colour, stroke_width=_width(ink, weight), d=data))
    return said


def _width(ink: Ink, weight: float) -> int:
    """In units; a stone's outline is an edge to the eye."""
    wide = _WIDTHS[EDGE if ink.stone and ink.kind == OUTLINE else ink.kind]
    return max(round(wide * weight * UNITS), 1)


def across(placed: Placed) -> list[str]:
    """The overall width, under the view."""
    low = placed.top + placed.tall
    right = placed.left + placed.wide
    return wide_figure((placed.left, low), (right, low), low + ROOM - 2.6, figure(placed.picture.box.wide))


def tall(placed: Placed) -> list[str]:
    """The overall height, at the left of the view."""
    top, low = placed.top, placed.top + placed.tall
    line = placed.left - ROOM + 2.6
    return tall_figure((placed.left, top), (placed.left, low), line, figure(placed.picture.box.tall))


Spot = tuple[float, float]


def wide_figure(start: Spot, end: Spot, line: float, text: str) -> list[str]:
    """How far apart two spots, the left one first, stand across, told along a line ``line`` mm down."""
    parts = [(x, y + _off(line - y, 1.0), x, line + _off(line - y, 1.2)) for x, y in (start, end)]
    said = _dimension(parts, (start[0], line, end[0], line))
    return [*said, _reading(text, _beside(text, start[0], end[0]), line - 0.8, 0)]


def tall_figure(top: Spot, low: Spot, line: float, text: str) -> list[str]:
    """How far apart two spots, the upper one first, stand in height, told ``line`` mm from the left."""
    parts = [(x + _off(line - x, 1.0), y, line + _off(line - x, 1.2), y) for x, y in (top, low)]
    said = _dimension(parts, (line, top[1], line, low[1]))
    middle = _beside(text, top[1], low[1])  # below, where it has no room: above may be the edge of the sheet
    return [*said, _reading(text, line - 0.8, middle, -90)]


def _off(way: float, by: float) -> float:
    return by if way >= 0 else -by


def _beside(text: str, start: float, stop: float) -> float:
    """Where the middle of a figure stands along its line: beyond it, where it has no room."""
    room = 0.6 * FIGURE * len(text)
    if room + 1.0 < stop - start:
        return (start + stop) / 2
    return stop + _ARROW[0] + 0.6 + room / 2


def figure(length: float) -> str:
    """Mm to the hundredth, without trailing zeros."""
    return f"{length:.2f}".rstrip("0").rstrip(".")


def _reading(text: str, x: float, y: float, turn: int) -> str:
    """A figure by its line, at (x, y) mm."""
    x, y = x * UNITS, y * UNITS
    turned = {"transform": f"rotate({turn} {round(x)} {round(y)})"} if turn else {}
    return words(text, x, y, FIGURE, fill=BLACK, text_anchor="middle", **turned)


def _dimension(
    extensions: list[tuple[float, float, float, float]], line: tuple[float, float, float, float]
) -> list[str]:
    """Extension lines and the dimension line with its heads, outside when there is no room."""
    x0, y0, x1, y1 = line
    long = max(abs(x1 - x0), abs(y1 - y0))
    ux, uy = ((x1 - x0) / long, (y1 - y0) / long) if long else (1.0, 0.0)
    outside = long < 4 * _ARROW[0]
    reach = 2 * _ARROW[0] if outside else 0.0
    data = "".join(_segment(*part) for part in extensions)
    data += _segment(x0 - ux * reach, y0 - uy * reach, x1 + ux * reach, y1 + uy * reach)
    way = 1.0 if not outside else -1.0
    heads = _head(x0, y0, ux * way, uy * way) + _head(x1, y1, -ux * way, -uy * way)
    return [
        element("path", stroke=BLACK, stroke_width=round(_THIN * UNITS), d=data),
        element("path", fill=BLACK, d=heads),
    ]


def _segment(x0: float, y0: float, x1: float, y1: float) -> str:
    return f"M{_units(x0, y0)}L{_units(x1, y1)}"


def _head(x: float, y: float, ux: float, uy: float) -> str:
    """An arrowhead with its tip at (x, y), its body toward (ux, uy)."""
    long, half = _ARROW
    ax, ay = x + ux * long, y + uy * long
    return (
        f"M{_units(x, y)}L{_units(ax - uy * half, ay + ux * half)}"
        f"L{_units(ax + uy * half, ay - ux * half)}z"
    )


def _units(x: float, y: float) -> str:
    return numbers((round(x * UNITS), round(y * UNITS)))
