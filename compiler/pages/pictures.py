"""Two pictures for every page: which way right, up and out point; the figures of a set stone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...lang.loader import Texts
from ..drawing.notes import Spot, arrow, cut_through, dashed, filled, measured
from ..drawing.outline import edges_of
from ..drawing.paper import BLACK, FIGURE, Placed, drawn
from ..drawing.picture import box_of, picture
from ..drawing.scene import Scene, scene_of
from ..drawing.svg import UNITS, document, words
from ..drawing.tints import pale
from ..drawing.views import VIEWS
from ..making.pipeline import build
from .scenes import PIECE, TOLERANCE
from .starter import starter_text

_AXES = (("right", (1, 0, 0), "#b03a2e"), ("up", (0, 1, 0), "#1e7145"), ("out", (0, 0, 1), "#1f5fa8"))
_CELL = (86.0, 74.0)

# The figures the picture names, mm and degrees; the same in the texts it is made from.
_WIRE, _BITE, _RISE, _FOOT, _SPLAY, _WALL, _LIP, _BEARING = 1.1, 0.33, 0.9, 2.8, 8.0, 0.8, 0.9, 0.7
_PRONGS = f"""\
stone one: round 5 mm, gem sapphire
disc ground: across 7 mm, thick 1 mm, inward 3.4 mm
prong claws
  for one, count 4, start 0 deg
  wire {_WIRE} mm, bite 30 %, rise {_RISE} mm, foot {_FOOT} mm, splay {_SPLAY} deg
seat: for one
"""
_BEZEL = f"""\
stone one: round 5 mm, gem sapphire
bezel cup: for one, wall {_WALL} mm, lip {_LIP} mm, bearing {_BEARING} mm, foot {_FOOT} mm
"""


def _scene(text: str) -> Scene:
    found = scene_of(build(PIECE, files=Texts({PIECE: text}), tolerance=TOLERANCE, check_metal=False))
    assert found is not None
    return found


def directions() -> bytes:
    """Right, up and out on a pendant and on a ring."""
    inside: list[str] = []
    for column, (kind, reach) in enumerate((("pendant", 11.0), ("ring", 17.0))):
        inside += _with_arrows(_scene(starter_text(kind, kind)), column * _CELL[0], reach, kind)
    return document(inside, 2 * _CELL[0], _CELL[1], "which way right, up and out point")


def _with_arrows(scene: Scene, left: float, reach: float, title: str) -> list[str]:
    """One piece in its cell with the three arrows from its middle, ``reach`` mm long."""
    view = VIEWS["corner"]
    box = box_of(scene, view)
    scale = min(44.0 / box.wide, 40.0 / box.tall)
    shot = picture(scene, edges_of(scene), view, 0.1 / scale)
    x, y = left + (_CELL[0] - box.wide * scale) / 2, (_CELL[1] - box.tall * scale) / 2
    axes = view.axes()

    def spot(at: np.ndarray) -> Spot:
        flat = axes[:2] @ at
        return x + (float(flat[0]) - box.left) * scale, y + (box.high - float(flat[1])) * scale

    said = drawn(Placed(shot, x, y, scale))
    for word, way, colour in _AXES:
        said += arrow(spot(np.zeros(3)), spot(reach * np.array(way, dtype=float)), word, colour)
    return [*said, _below(f"a {title}", left + _CELL[0] / 2)]


def set_stones() -> bytes:
    """A stone in prongs and one in a bezel cut through, with the names of their figures."""
    inside: list[str] = []
    for column, (text, notes, title) in enumerate(
        ((_PRONGS, _of_prongs, "in prongs"), (_BEZEL, _of_bezel, "in a bezel"))
    ):
        scene = _scene(text)
        cell = _Cell(_CELL[0] * (column + 0.5), 32.0, 8.0)
        inside += [*_cut(scene, cell), *notes(cell, _crown(scene))]
        inside.append(_below(title, cell.middle))
    return document(inside, 2 * _CELL[0], _CELL[1], "what the figures of a set stone are")


@dataclass(frozen=True)
class _Cell:
    """Where the middle of the girdle lies on paper, mm, and how large all is drawn."""

    middle: float
    line: float
    scale: float

    def at(self, right: float, out: float) -> Spot:
        """A spot of the piece on paper."""
        return self.middle + right * self.scale, self.line - out * self.scale

    def note(self, word: str, ends: tuple[Spot, Spot], side: Spot, anchor: str = "start") -> list[str]:
        """A figure's measure line and its word."""
        return measured(self.at(*ends[0]), self.at(*ends[1]), word, self.at(*side), anchor)


def _below(title: str, middle: float) -> str:
    at = middle * UNITS, (_CELL[1] - 3) * UNITS
    return words(title, *at, FIGURE * 1.1, fill=BLACK, text_anchor="middle")


def _crown(scene: Scene) -> float:
    """How high the table lies over the girdle, mm."""
    stone = next(k for k, body in enumerate(scene.bodies) if body.stone)
    return float(scene.points[scene.triangles[scene.body == stone]][..., 2].max())


def _cut(scene: Scene, cell: _Cell) -> list[str]:
    """Every body cut through its middle: metal dark, stones pale."""
    said = []
    for index, body in enumerate(scene.bodies):
        loops = cut_through(scene.points, scene.triangles[scene.body == index])
        fill = pale(body.colour, 0.85) if body.stone else "#b9b2a4"
        said.append(filled(loops, (cell.middle, cell.line), cell.scale, fill))
    return said


def _of_prongs(cell: _Cell, crown: float) -> list[str]:
    """Rise, foot, bite and splay, where the text of the picture has them."""
    lean = math.tan(math.radians(_SPLAY))
    inner, top = 2.5 - _BITE, crown + _RISE
    outer = inner + _WIRE
    axis = inner + _WIRE / 2
    return [
        *cell.note("rise", ((outer + 0.7, crown), (outer + 0.7, top)), (outer + 1.1, crown + 0.3)),
        *cell.note("bite", ((inner, 0.0), (2.5, 0.0)), (outer + 1.1, -0.15)),
        *cell.note("foot", ((-outer - 0.5, 0.0), (-outer - 0.5, -_FOOT)), (-outer - 0.9, -1.5), "end"),
        *cell.note(
            "splay", ((-axis, top + 0.6), (-axis - (top + 0.6) * lean, top + 0.6)), (-axis - 1.4, top + 0.7),
            "end",
        ),
        *dashed(cell.at(-axis, -0.4), cell.at(-axis, top + 1.0)),
        *dashed(cell.at(-axis, 0.0), cell.at(-axis - (top + 1.0) * lean, top + 1.0)),
    ]


def _of_bezel(cell: _Cell, crown: float) -> list[str]:
    """Lip, foot and bearing, where the text of the picture has them."""
    outer, room = 2.54 + _WALL, 2.54
    return [
        *cell.note("lip", ((outer + 0.4, 0.0), (outer + 0.4, _LIP)), (outer + 0.8, _LIP / 2 - 0.1)),
        *cell.note("foot", ((-outer - 0.4, 0.0), (-outer - 0.4, -_FOOT)), (-outer - 0.8, -1.5), "end"),
        *cell.note("wall", ((-outer, _LIP - 0.3), (-room, _LIP - 0.3)), (-outer - 0.8, _LIP - 0.3), "end"),
        *cell.note(
            "bearing", ((room - _BEARING, -_FOOT - 0.3), (room, -_FOOT - 0.3)), (room + 0.8, -_FOOT - 0.5)
        ),
    ]
