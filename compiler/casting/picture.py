"""The casting drawn: metal in bands by when it freezes, its sprues, places by number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from ..drawing.beside import EDGE, Beside
from ..drawing.paper import BLACK, FIGURE, GREY, Placed, drawn
from ..drawing.picture import MARGIN, Box, Paint
from ..drawing.raster import Buffer
from ..drawing.scene import Body, Row, Scene, assembled
from ..drawing.svg import UNITS, document, element, words
from ..drawing.tints import Tint, traced
from ..drawing.views import VIEWS, View
from ..freezing.freeze import Frozen
from ..freezing.pools import smoothed
from ..measures.kinds import Floats, Ints, frame_of, unit
from ..measures.triangles import together
from .figures import letter
from .plan import Cast
from .pouring import own_last

# From first to last to freeze, light to dark, so that they are told apart in grey too.
BANDS = "#fdf3c4", "#f8d98a", "#f0b163", "#dd8455", "#b95a52", "#873c56", "#4f2950"
SPRUE = "#c9ced2"
SHOWN = "corner", "back-corner"
SIDES = 32  # of a sprue
BAND = 22.0  # mm of paper: a band of the legend


def drawing(cast: Cast, title: str) -> bytes:
    """One casting from both sides, with the times of its bands."""
    beside, paint = Beside(_scene(cast), [VIEWS[name] for name in SHOWN]), _Bands(cast)
    # Sprues as A, B, C; places that may be left with holes as 1, 2, 3.
    marks = [(letter(k), one.at + 0.6 * one.long * one.way) for k, one in enumerate(cast.sprues)]
    marks += [(str(k + 1), pool.at) for k, pool in enumerate(cast.pouring.pools)]
    inside: list[str] = []
    for view, placed in beside.views(paint.of):
        inside += drawn(placed)
        inside += _marks(marks, view, placed)
    inside += _legend(paint.edges, beside.low + 4.0)
    return document(inside, beside.wide, beside.low + 18.0, f"{title}: how it freezes")


def _scene(cast: Cast) -> Scene:
    """The metal, its sprues, what joins them and a piece of the stem as one mesh."""
    part = cast.part
    rows: list[Row] = [(Body(cast.alloy.colour), part.points, part.triangles.astype(np.int64), part.owner)]
    rods = list(_rods(cast))
    if rods:
        spots, faces = together(rods)
        rows.append((Body(SPRUE), spots, faces, np.full(len(faces), -1)))
    return assembled(rows, 0.005)


def _rods(cast: Cast) -> Iterator[tuple[Floats, Ints]]:
    """What is cut off, as meshes."""
    for sprue in cast.sprues:
        yield _rod(np.stack((sprue.at - 0.3 * sprue.way, sprue.at + sprue.long * sprue.way)), sprue.across)
    for join in cast.joins:
        bends = [join.spots] if len(join.spots) == 2 else np.split(join.spots, [2])  # no sharp turn in one
        for k, bits in enumerate(bends):
            yield _rod(np.concatenate((bends[k - 1][-1:], bits)) if k else bits, join.across)
    if cast.joins and not cast.tree.alone:
        yield _rod(_stem(cast), cast.flask.stem)


def _stem(cast: Cast) -> Floats:
    """The ends of a piece of the stem where the first sprue meets it, (2, 3) mm, square to that."""
    first = cast.sprues[0]
    foot = first.at + first.long * first.way
    off = np.mean([join.spots[0] for join in cast.joins], axis=0) - foot
    off -= (off @ first.way) * first.way
    along = off / np.linalg.norm(off) if np.linalg.norm(off) > 1e-6 else frame_of(first.way)[0]
    middle = foot + cast.flask.stem / 2 * first.way
    return np.stack((middle - cast.flask.stem * along, middle + cast.flask.stem * along))


def _rod(spots: Floats, across: float) -> tuple[Floats, Ints]:
    """A round rod along spots (k, 3) as a closed mesh."""
    ways = unit(np.gradient(spots, axis=0))
    turn = np.arange(SIDES)[:, None] * 2 * np.pi / SIDES
    side = frame_of(ways[0])[0]
    rings = []
    for spot, way in zip(spots, ways, strict=True):
        side = side - (side @ way) * way
        side = side / np.linalg.norm(side)
        rings.append(spot + across / 2 * (np.cos(turn) * side + np.sin(turn) * np.cross(way, side)))
    here = np.arange(SIDES)
    then, last = (here + 1) % SIDES, (len(spots) - 1) * SIDES
    low, high = (np.full(SIDES, len(spots) * SIDES + k) for k in (0, 1))
    faces = [np.stack((then, here, low), axis=1), np.stack((here + last, then + last, high), axis=1)]
    for k in range(0, last, SIDES):
        a, b = here + k, then + k
        faces += [np.stack((a, b, b + SIDES), axis=1), np.stack((a, b + SIDES, a + SIDES), axis=1)]
    return np.concatenate((*rings, spots[:1], spots[-1:])), np.concatenate(faces)


class _Bands:
    """Paints metal by when it freezes."""

    def __init__(self, cast: Cast) -> None:
        self._frozen: Frozen = cast.pouring.frozen
        self._times = smoothed(self._frozen)
        own = self._frozen.metal & (self._frozen.grid.added < 0.5 * self._frozen.grid.share)
        first = float(self._times[own].min()) if own.any() else 0.0
        last = own_last(cast.pouring)[0]
        self.edges = np.linspace(first, max(last, first + 1e-6), len(BANDS) + 1)

    def of(self, view: View, box: Box, pixel: float) -> Paint:
        """The painter of one view."""

        def paint(
            scene: Scene, bends: np.ndarray, xy: np.ndarray, axes: np.ndarray, buffer: Buffer
        ) -> Sequence[Tint]:
            seen = buffer.triangle >= 0
            body = np.where(seen, scene.body[np.where(seen, buffer.triangle, 0)], -1)
            row, column = np.nonzero(seen)
            flat = np.stack((
                box.left + (column + 0.5 - MARGIN) * pixel, box.high - (row + 0.5 - MARGIN) * pixel,
                buffer.depth[seen] * pixel,
            ), axis=1)  # fmt: skip
            times = np.full(seen.shape, -np.inf)
            times[seen] = self._at(flat @ axes, axes[2])
            masks = [body == 0, *((body == 0) & (times >= edge) for edge in self.edges[1:-1]), body == 1]
            return [Tint(c, tuple(traced(m))) for c, m in zip((*BANDS, SPRUE), masks, strict=True)]

        return paint

    def _at(self, at: Floats, toward: Floats) -> Floats:
        """When metal froze just below spots on the skin."""
        grid, times = self._frozen.grid, np.full(len(at), -np.inf)
        for deep in (0.5, 1.0, 0.0, 1.6):  # cells: the first that is metal counts
            cell = grid.index(at - deep * grid.pitch * toward)
            found = np.where(self._frozen.metal, self._times, -np.inf)[cell[:, 0], cell[:, 1], cell[:, 2]]
            times = np.where(np.isfinite(times), times, found)
        return times


def _marks(marks: Sequence[tuple[str, Floats]], view: View, placed: Placed) -> list[str]:
    left, top = placed.corner()
    said = []
    axes, box = view.axes(), placed.picture.box
    ring: dict[str, Any] = {"r": round(1.9 * UNITS), "fill": "#fff", "stroke": BLACK}
    ring["stroke_width"] = round(0.25 * UNITS)
    for text, at in marks:
        right, up, _ = axes @ at
        x = left + ((right - box.left) / placed.picture.pixel + MARGIN) * placed.factor()
        y = top + ((box.high - up) / placed.picture.pixel + MARGIN) * placed.factor()
        said.append(element("circle", cx=round(x), cy=round(y), **ring))
        said.append(words(text, x, y + 0.95 * UNITS, 2.6, fill=BLACK, text_anchor="middle"))
    return said


def _legend(edges: Floats, top: float) -> list[str]:
    said = []
    wide, high, line = BAND * UNITS, 4 * UNITS, (top + 7.2) * UNITS
    for k, colour in enumerate(BANDS):
        x = EDGE * UNITS + k * wide
        shape = f"M{round(x)} {round(top * UNITS)}h{round(wide)}v{round(high)}h-{round(wide)}z"
        said.append(element("path", fill=colour, stroke=GREY, stroke_width=round(0.13 * UNITS), d=shape))
        said.append(words(f"{edges[k]:.2g}", x, line, FIGURE, fill=BLACK))
    end = EDGE * UNITS + len(BANDS) * wide
    said.append(words(f"{edges[-1]:.2g} s", end, line, FIGURE, fill=BLACK, text_anchor="end"))
    text = "light freezes first, dark last; letters are sprues, numbers places that may be left with holes"
    said.append(words(text, EDGE * UNITS, (top + 11.5) * UNITS, FIGURE, fill=GREY))
    return said
