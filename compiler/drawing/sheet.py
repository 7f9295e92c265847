"""Drawings on paper: the views of one piece, and many pieces side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .names import USUAL
from .numbers import tags
from .outline import edges_of
from .paper import BLACK, FIGURE, GREY, RED, ROOM, Placed, across, drawn, figure, tall
from .picture import Box, box_of, picture
from .projection import BELOW, PLACES, THIRD, Places, symbol
from .scene import Scene
from .svg import UNITS, document, words
from .views import SEEN, VIEWS, View

# The recommended scales of ISO 5455 (50, 20, 10, 5, 2, 1 …; from memory) leave much paper bare
# for jewelry, so there are steps between, as the standard allows.
SCALES = (50.0, 20.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5, 0.2, 0.1, 0.05)
EDGE_MM, GAP = 6.0, 7.0  # mm of paper: round the sheet, between views
WIDEST, TALLEST = 190.0, 240.0  # fits the paper of A4 and of US letter
_FINEST, _MOST = 0.1, 1500  # mm of paper to a pixel; pixels along a side
_GREATEST = 8.0  # times its size: a thing drawn alone
_CELL = (60.0, 46.0)  # mm: one piece of many, without its title


@dataclass(frozen=True)
class Titled:
    """A scene with what is written under it; ``but`` tells what is wrong with it."""

    scene: Scene
    title: str
    metal: str
    but: str = ""


def views_sheet(
    piece: Titled, names: Sequence[str] = USUAL, *, figures: bool = False, projection: str = THIRD,
    most: tuple[float, float] = (WIDEST, TALLEST),
) -> bytes:  # fmt: skip
    """The views of one piece at one scale, with overall dimensions and stones' numbers if
    ``figures`` are wanted; they stand to one another as the ``projection`` (of PLACES) has it, on no
    more than ``most`` mm of paper."""
    views = [VIEWS[name] for name in dict.fromkeys(names)]
    boxes = {view: box_of(piece.scene, view) for view in views}
    room = ROOM if figures else 0.0
    scale, spots, wide, low, places = _arranged(boxes, room, (PLACES[projection], BELOW), most)
    edges = edges_of(piece.scene)
    inside: list[str] = []
    done: set[str] = set()
    for view in views:
        shot = picture(piece.scene, edges, view, pixel(boxes[view], scale))
        placed = Placed(shot, *spots[view], scale)
        inside += drawn(placed)
        if figures:
            inside += tags(placed) + _dimensions(placed, done)
    low += 0.0 if figures else FIGURE  # figures leave room below the views, for the title too
    wide = max(wide, 40.0)
    inside += _caption(piece, scale, low, figures, wide)
    if figures and len(views) > 1 and places is BELOW:
        inside += [_seen(view, spots[view]) for view in views if view.name in SEEN]
    elif figures and len(views) > 1:
        inside += symbol(projection, wide - EDGE_MM, low + 2 * FIGURE)
    return document(inside, wide, low + 2 * FIGURE + EDGE_MM, piece.title)


def pixel(box: Box, scale: float) -> float:
    """Mm of the piece to a pixel: fine for the paper, coarser where that is too many."""
    return max(_FINEST / scale, max(box.wide, box.tall) / _MOST, 1e-6)


def _dimensions(placed: Placed, done: set[str]) -> list[str]:
    """Overall figures along the axes of the piece that no earlier view has shown."""
    view, said = placed.picture.view, []
    if view.across and view.across not in done:
        said += across(placed)
    if view.tall and view.tall not in done:
        said += tall(placed)
    done |= {view.across, view.tall}
    return said


def _seen(view: View, spot: tuple[float, float]) -> str:
    """Over a view out of its place, whence it is seen (labelled views of ISO 5456-2, from memory)."""
    return words(f"seen {SEEN[view.name]}", spot[0] * UNITS, (spot[1] - 1.6) * UNITS, FIGURE, fill=BLACK)


Arranged = tuple[float, dict[View, tuple[float, float]], float, float, Places]


def _arranged(
    boxes: dict[View, Box], room: float, ways: Sequence[Places], most: tuple[float, float]
) -> Arranged:
    """The greatest scale at which the views fit in one of the ``ways``, the upper left of each, the width of
    the sheet and where the views end, mm, and which way it is. ``room`` is what a dimension line takes."""
    for scale in SCALES:
        for places in ways:
            spots, wide, low = _spots(boxes, places, scale, room)
            if (wide <= most[0] and low <= most[1]) or scale == SCALES[-1]:
                return scale, spots, wide, low, places
    raise AssertionError("the last scale fits whatever it must")


def _grid(boxes: dict[View, Box], places: Places, scale: float) -> tuple[dict[int, float], dict[int, float]]:
    """Widths of columns and heights of rows, mm of paper."""
    columns: dict[int, float] = {}
    rows: dict[int, float] = {}
    for view, box in boxes.items():
        column, row = places[view.name]
        columns[column] = max(columns.get(column, 0.0), box.wide * scale)
        rows[row] = max(rows.get(row, 0.0), box.tall * scale)
    return columns, rows


def _spots(
    boxes: dict[View, Box], places: Places, scale: float, room: float
) -> tuple[dict[View, tuple[float, float]], float, float]:
    """The upper left of every view, the width of the sheet and where its views end, mm."""
    columns, rows = _grid(boxes, places, scale)
    lefts, tops = {}, {}
    x = EDGE_MM + room
    for column in sorted(columns):
        lefts[column] = x
        x += columns[column] + GAP + room
    y = EDGE_MM
    for row in sorted(rows):
        tops[row] = y
        y += rows[row] + GAP + room
    spots = {}
    for view, box in boxes.items():
        column, row = places[view.name]
        spots[view] = (
            lefts[column] + (columns[column] - box.wide * scale) / 2,
            tops[row] + (rows[row] - box.tall * scale) / 2,
        )
    return spots, x - GAP - room + EDGE_MM, y - GAP


def ratio(scale: float) -> str:
    """A scale as written: 5:1, 1:2."""
    return f"{figure(scale)}:1" if scale >= 1 else f"1:{figure(1 / scale)}"


def _caption(piece: Titled, scale: float, low: float, figures: bool, wide: float) -> list[str]:
    """Title, metal and scale under the views, as large as they fit."""
    y = (low + 2 * FIGURE) * UNITS
    note = f"{piece.metal}, {ratio(scale)}" if piece.metal else ratio(scale)
    if figures:
        note += ", mm"
    note, fill = (piece.but, RED) if piece.but else (note, GREY)
    return [
        words(piece.title, EDGE_MM * UNITS, y - 1.4 * FIGURE * UNITS,
              _fitting(piece.title, wide - 2 * EDGE_MM, 1.2 * FIGURE), fill=BLACK),
        words(note, EDGE_MM * UNITS, y, _fitting(note, wide - 2 * EDGE_MM, FIGURE), fill=fill),
    ]


def _fitting(text: str, wide: float, size: float) -> float:
    """The size at which a line of writing fits, no more than ``size``, mm."""
    return min(size, wide / (0.58 * max(len(text), 1)))


def picture_of(
    scene: Scene, title: str, view: str, wide: float, tall: float, *, close: bool = False
) -> bytes:
    """One view, as large as fits ``wide`` x ``tall`` mm of paper; ``close`` takes no more than it needs."""
    box = box_of(scene, VIEWS[view])
    scale = min(_largest(box, wide - 2.0, tall - 2.0), _GREATEST)
    shot = picture(scene, edges_of(scene), VIEWS[view], pixel(box, scale))
    if close:
        wide, tall = box.wide * scale + 2.0, box.tall * scale + 2.0
    left, top = (wide - box.wide * scale) / 2, (tall - box.tall * scale) / 2
    return document(drawn(Placed(shot, left, top, scale)), wide, tall, title)


def _largest(box: Box, wide: float, tall: float) -> float:
    return min(wide / max(box.wide, 1e-6), tall / max(box.tall, 1e-6))


def contact_sheet(pieces: Sequence[Titled], view: str = "corner") -> bytes:
    """All pieces in rows, each as large as its place takes, with title, metal and scale."""
    columns = max(1, min(4, math.ceil(math.sqrt(len(pieces)))))
    wide, tall = _CELL[0] + GAP, _CELL[1] + GAP + 3 * FIGURE
    inside: list[str] = []
    for index, piece in enumerate(pieces):
        middle = EDGE_MM + (index % columns + 0.5) * wide
        inside += _in_cell(piece, VIEWS[view], middle, EDGE_MM + index // columns * tall)
    rows = math.ceil(len(pieces) / columns)
    return document(inside, 2 * EDGE_MM + columns * wide, 2 * EDGE_MM + rows * tall, "Pieces")


def _in_cell(piece: Titled, view: View, middle: float, top: float) -> list[str]:
    """One piece of many, its place's middle and top given in mm."""
    box = box_of(piece.scene, view)
    most = min(_largest(box, *_CELL), _GREATEST)
    scale = next((s for s in SCALES if s <= most), most)
    shot = picture(piece.scene, edges_of(piece.scene), view, pixel(box, scale))
    left, high = middle - box.wide * scale / 2, top + (_CELL[1] - box.tall * scale) / 2
    note = ", ".join(part for part in (piece.metal, ratio(scale)) if part)
    return [
        *drawn(Placed(shot, left, high, scale), 0.71),
        _line(piece.title, middle, top + _CELL[1] + 1.6 * FIGURE,
              _fitting(piece.title, _CELL[0] + 4.0, 1.1 * FIGURE), BLACK),
        _line(note, middle, top + _CELL[1] + 3.0 * FIGURE,
              _fitting(note, _CELL[0] + 4.0, 0.9 * FIGURE), GREY),
    ]


def _line(text: str, middle: float, low: float, size: float, colour: str) -> str:
    """A centred line of writing, mm."""
    return words(text, middle * UNITS, low * UNITS, size, fill=colour, text_anchor="middle")
