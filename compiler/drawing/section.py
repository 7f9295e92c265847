"""A setting cut through: the cut metal hatched, the stone clear, with the figures a setter works by.

After ISO 128 as far as it fits (from memory): the cut face alone, hatched at 45 degrees with thin lines, each
metal its own way; the axis of the stone a thin chain line. Lengths mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.gems import GEMS
from ..bench.stone_kind import corners_of
from ..metal.kernel import plain
from .paper import BLACK, FIGURE, figure, tall_figure, wide_figure
from .sheet import ratio
from .svg import UNITS, document, element, through, words
from .tints import pale

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

    from ..judging.piece import Piece
    from ..judging.settings import Setting

SCALES = (10.0, 5.0, 2.0, 1.0)  # ISO 5455, the greatest that fits
_WIDEST, _TALLEST = 150.0, 150.0  # mm of paper the cut may take
_BESIDE, _ABOVE, _BELOW = 1.6, 0.4, 1.0  # mm of the piece shown round what is looked at
_TALL = 3.0  # mm
_HATCH = 1.5  # mm of paper between lines
_EDGE = (15.0, 6.0, 15.0, 21.0)  # mm of paper: left, top, right, bottom, for figures
Loop = np.ndarray  # (k, 2), mm right of and above the middle of the girdle


@dataclass(frozen=True)
class Cut:
    """A setting cut through the axis of its stone: loops of each metal, of the stone and of others
    near by; ``window`` is left, low, right, high of what is shown. ``stone`` is the number of the
    stone less one, ``over`` the top of what is pushed over it, above the girdle, 0 for nothing."""

    stone: int
    metals: tuple[tuple[Loop, ...], ...]
    own: tuple[Loop, ...]
    others: tuple[Loop, ...]
    window: tuple[float, float, float, float]
    over: float
    prongs: bool  # whether it is prongs that are pushed over it
    round: float | None  # the diameter, where the stone is as wide whichever way it is cut

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, low, right and high of the stone as it is cut."""
        spots = np.concatenate(self.own)
        (left, low), (right, high) = spots.min(axis=0), spots.max(axis=0)
        return float(left), float(low), float(right), float(high)


def cut_of(piece: Piece, setting: Setting) -> Cut:
    """A setting cut through the axis of its stone and what is pushed over it, or across the stone."""
    frame, kind = piece.stones.frames[setting.stone], piece.stones.of(setting.stone)
    up, home = frame[:, 2], frame[:, 3]
    held = (*setting.prongs, *setting.beads)
    way = frame[:, 1].copy()
    if held:
        way = np.array(held[0].spot) - home
    elif setting.kind == "prongs" and len(corners := corners_of(kind).frames):
        way = frame[:, :3] @ corners[0, :, 3]
    way -= (way @ up) * up
    way /= np.linalg.norm(way)
    turn = np.array([way, up, np.cross(way, up)])
    place = np.concatenate([turn, -(turn @ home)[:, None]], axis=1)
    reach = _reach(piece, setting, up, home)
    flat = [solid.transform(place).slice(0.0) for solid in _metals(piece)]
    over = _over(setting) or _top(flat, reach, setting)
    box = (-reach, -setting.pavilion - _BELOW, reach, max(over, setting.crown) + _ABOVE)
    stones = [solid.transform(place) for _, _, solid in piece.stone_solids]
    near = [k for k in range(len(stones)) if k != setting.stone and _meets(stones[k], box)]
    return Cut(
        setting.stone, tuple(_loops(one, box) for one in flat), _loops(stones[setting.stone].slice(0.0), box),
        tuple(loop for k in near for loop in _loops(stones[k].slice(0.0), box)), box, over,
        bool(setting.prongs) or setting.kind == "prongs", kind.width if kind.cut == "round" else None,
    )


def _over(setting: Setting) -> float:
    """The top of what is pushed over the stone, above the middle of its girdle: of several, the lowest."""
    base = setting.crown if setting.prongs else 0.0
    return max((setting.spare or -base) + base, 0.0)


def _top(flat: Sequence[CrossSection], reach: float, setting: Setting) -> float:
    """How high prongs that are no wire rise in the cut, no more than _TALL above the table."""
    if setting.kind != "prongs":
        return 0.0
    spots = [np.asarray(loop) for one in flat for loop in one.to_polygons()]
    near = [loop[np.abs(loop[:, 0]) < reach, 1] for loop in spots]
    return min(max((float(one.max()) for one in near if len(one)), default=0.0), setting.crown + _TALL)


def _reach(piece: Piece, setting: Setting, up: np.ndarray, home: np.ndarray) -> float:
    """Half the width of what is shown: past the stone and what holds it."""
    kind = piece.stones.of(setting.stone)
    ends = [max(kind.length, kind.width) / 2 + (setting.bezel.wall if setting.bezel else 0.0)]
    for grip in (*setting.prongs, *setting.beads):
        away = np.array(grip.spot) - home
        ends.append(float(np.linalg.norm(away - (away @ up) * up)) + grip.wire / 2)
    return max(ends) + _BESIDE


def _metals(piece: Piece) -> list[Manifold]:
    from manifold3d import Manifold

    by_metal: dict[str, list[Manifold]] = {}
    for part in piece.parts:
        by_metal.setdefault(part.metal, []).append(plain(part.points, part.triangles))
    return [Manifold.compose(solids) for solids in by_metal.values()]


def _meets(solid: Manifold, box: tuple[float, float, float, float]) -> bool:
    left, low, back, right, high, front = solid.bounding_box()
    return back <= 0 <= front and left < box[2] and right > box[0] and low < box[3] and high > box[1]


def _loops(flat: CrossSection, box: tuple[float, float, float, float]) -> tuple[Loop, ...]:
    """Outlines within a window, a little of what lies beyond with them."""
    from manifold3d import CrossSection

    left, low, right, high = box
    window = CrossSection.square((right - left + 1.0, high - low + 1.0)).translate((left - 0.5, low - 0.5))
    return tuple(np.asarray(loop, dtype=float) for loop in (flat ^ window).to_polygons())


def section_drawing(cut: Cut, gem: str, title: str) -> bytes:
    """The cut as large as SCALES fit, with the stone's width and depth and what stands above the table."""
    left, low, right, high = cut.window
    wide, tall = right - left, high - low
    scale = next((s for s in SCALES if wide * s <= _WIDEST and tall * s <= _TALLEST), SCALES[-1])
    edge = _EDGE
    inner = [
        *_shown(cut.others, cut.window, scale, pale(_colour(gem), 0.93), 3),
        *_shown(cut.own, cut.window, scale, pale(_colour(gem), 0.86), 5),
    ]
    for number, loops in enumerate(cut.metals):
        inner += _shown(loops, cut.window, scale, "#fff", 7)
        inner += _hatched(loops, cut.window, scale, number)
    inner.append(_axis(cut.window, scale))
    size = f"{round(wide * scale * UNITS)} {round(tall * scale * UNITS)}".split()
    view = element(
        "svg", "".join(inner), x=round(edge[0] * UNITS), y=round(edge[1] * UNITS), width=size[0],
        height=size[1], viewBox=f"0 0 {size[0]} {size[1]}", overflow="hidden",
    )  # fmt: skip
    paper = (edge[0] + wide * scale + edge[2], edge[1] + tall * scale + edge[3])
    low_line = (paper[1] - 2.0) * UNITS
    label = f"stone {cut.stone + 1}, cut through its axis, {ratio(scale)}, mm"
    said = [view, *_figures(cut, scale), words(label, edge[0] * UNITS, low_line, FIGURE, fill=BLACK)]
    return document(said, *paper, title)


def _colour(gem: str) -> str:
    return GEMS[gem].colour if gem in GEMS else "#dfe6ea"


def _shown(
    loops: Sequence[Loop], window: tuple[float, float, float, float], scale: float, fill: str, wide: int
) -> list[str]:
    data = "".join(through(_paper(loop, window, scale).tolist(), closed=True) for loop in loops)
    if not data:
        return []
    return [element("path", fill=fill, fill_rule="evenodd", stroke=BLACK, stroke_width=wide, d=data)]


def _paper(loop: Loop, window: tuple[float, float, float, float], scale: float) -> np.ndarray:
    """Spots of the piece in mm of paper from the upper left of the window."""
    return np.column_stack([(loop[:, 0] - window[0]) * scale, (window[3] - loop[:, 1]) * scale])


def _hatched(
    loops: Sequence[Loop], window: tuple[float, float, float, float], scale: float, number: int
) -> list[str]:
    """Lines at 45 degrees within loops (even-odd); of a second metal the other way."""
    if not loops:
        return []
    sign = -1.0 if number % 2 else 1.0
    spots = [_paper(loop, window, scale) * (1.0, sign) for loop in loops]
    start = np.concatenate(spots)
    end = np.concatenate([np.roll(one, -1, axis=0) for one in spots])
    # x + y is the same all along a line, x - y runs along it.
    c0, c1 = start.sum(axis=1), end.sum(axis=1)
    t0, t1 = start[:, 0] - start[:, 1], end[:, 0] - end[:, 1]
    step = _HATCH * np.sqrt(2.0)
    data = ""
    for line in np.arange(np.ceil(c0.min() / step), np.floor(c0.max() / step) + 1) * step + 1e-7:
        met = (c0 <= line) != (c1 <= line)
        along = np.sort(t0[met] + (line - c0[met]) / (c1[met] - c0[met]) * (t1[met] - t0[met]))
        for a, b in zip(along[::2], along[1::2], strict=False):
            ends = [((line + t) / 2, sign * (line - t) / 2) for t in (float(a), float(b))]
            data += through(ends)
    return [element("path", stroke=BLACK, stroke_width=3, d=data)] if data else []


def _axis(window: tuple[float, float, float, float], scale: float) -> str:
    x, tall = round(-window[0] * scale * UNITS), round((window[3] - window[1]) * scale * UNITS)
    return element("path", stroke=BLACK, stroke_width=3, stroke_dasharray="50 14 8 14", d=f"M{x} 0V{tall}")


def _figures(cut: Cut, scale: float) -> list[str]:
    """Width and depth of the stone in this cut, and what is spare: of prongs above its table, of all else
    above its girdle, as on the setter's sheet."""
    left, low, right, high = cut.box

    def spot(x: float, y: float) -> tuple[float, float]:
        return _EDGE[0] + (x - cut.window[0]) * scale, _EDGE[1] + (cut.window[3] - y) * scale

    tall = _EDGE[1] + (cut.window[3] - cut.window[1]) * scale
    far = _EDGE[0] + (cut.window[2] - cut.window[0]) * scale
    said = wide_figure(spot(left, 0.0), spot(right, 0.0), tall + 7.0, figure(cut.round or right - left))
    said += tall_figure(spot(left, high), spot(0.0, low), _EDGE[0] - 6.0, figure(high - low))
    base = high if cut.prongs else 0.0
    if cut.over > base + 0.005:
        from_ = spot(0.0 if cut.prongs else right, base)
        said += tall_figure(spot(right, cut.over), from_, far + 9.0, figure(cut.over - base))
    return said
