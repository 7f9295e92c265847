"""One kind of stone: its cut, size and gem, and what others may ask of it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from ...stdlib.cuts import CUTS
from ...stdlib.gem_light import light_of
from ..geometry import frames as fr
from ..geometry.line import ring
from ..geometry.outlines import trace
from .feature import Drawn, DrawnPlaces, Lines, Offer, Places, number, spot
from .feature import length as mm

DOME = 0.6  # of a dome's height, up to which claws and beads are laid on it; common practice, no source


class StoneKind:
    """One kind of stones: cut, size (mm), gem. ``form`` names the cut with its measured depth, if
    that is known; ``carats`` is what each stone weighs, if it was weighed; ``drilled`` is how wide the
    hole right through a bead is, mm."""

    def __init__(
        self, cut: str, size: tuple[float, ...], gem: str, form: str | None = None,
        carats: float | None = None, drilled: float = 0.0,
    ) -> None:
        self.cut, self.size, self.gem = cut, size, gem
        self.form, self.carats, self.drilled = form or cut, carats, drilled

    def of_gem(self, gem: str) -> StoneKind:
        """The same stone of another gem."""
        return StoneKind(self.cut, self.size, gem, self.form, self.carats, self.drilled)

    @property
    def length(self) -> float:
        """Along the stone's own x, mm."""
        return self.size[0]

    @property
    def width(self) -> float:
        """Along the stone's own y, mm."""
        return self.size[1] if len(self.size) > 1 else self.size[0]

    @property
    def narrow(self) -> float | None:
        """The narrow end of a tapered stone, mm."""
        return self.size[2] if len(self.size) > 2 else None

    @property
    def figures(self) -> tuple[Any, ...]:
        """Cut and full size as plain hashable figures for shapes."""
        size = self.length, self.width
        return (self.form, *size) if self.narrow is None else (self.form, *size, self.narrow)

    @property
    def outline(self) -> tuple[Any, ...]:
        """The girdle as an outline."""
        return "stone", *self.figures

    def is_round(self) -> bool:
        """Whether its girdle is a circle."""
        return CUTS[self.form].turned(self.length, self.width)

    def crown(self) -> float:
        """From the girdle's middle (a cabochon: its back) up to the table or top, mm."""
        return float(self._heights()[1])

    def pavilion(self) -> float:
        """From the girdle's middle down to the culet; nothing for a flat back, mm."""
        return float(-self._heights()[0])

    def lit_behind(self) -> bool:
        """Whether light that comes through its back shows in it: not in an opaque stone with a flat one."""
        return self.pavilion() > 0 or light_of(self.gem).body != "opaque"

    def laid(self) -> float:
        """How high over its girdle metal is laid on it: up to the table, or so much of a dome, mm."""
        cut = CUTS[self.form]
        return self.crown() * (DOME if cut.domed and not cut.flat else 1.0)

    def _heights(self) -> tuple[float, float]:
        """Lowest and highest of the stone in its own frame, mm."""
        return CUTS[self.form].heights(self.length, self.width)

    def left(self) -> float:
        """The share of a ball that a hole right through it leaves: what is drilled out is the hole and a
        cap at either end."""
        reach = min(self.drilled / self.width, 1.0)
        return float((1.0 - reach * reach) ** 1.5)

    def girdle(self) -> float:
        """Thickness of the girdle, mm."""
        return CUTS[self.form].girdle_thickness(self.length, self.width)

    def extent(self, degrees: float) -> float:
        """How far the girdle reaches along a direction of its own plane, mm."""
        return _extent(self.outline, degrees)


@lru_cache(maxsize=1024)
def _extent(outline: tuple[Any, ...], degrees: float) -> float:
    angle = np.radians(degrees)
    return float(np.ptp(trace(outline) @ (np.cos(angle), np.sin(angle))))


def stone_offers(setting: StoneKind) -> dict[str, Offer]:
    """What may be asked of one stone of this kind, in its own frame."""
    alone = {
        **dict.fromkeys(("pavilion-before", "pavilion-after"), lambda: mm(setting.pavilion())),
        **dict.fromkeys(("width-before", "width-after"), lambda: mm(setting.width)),
    }
    return {
        **alone,
        "centres": lambda: spot(),
        "girdle": lambda: Lines((ring(trace(setting.outline), 0.0),)),
        "outline": lambda: Drawn((ring(trace(setting.outline), 0.0),)),
        "outline-corners": lambda: _on_ground(corners_of(setting)),
        "across": lambda: mm(setting.width),
        "narrow": lambda: mm(setting.narrow or setting.width),
        "length": lambda: mm(setting.length),
        "width": lambda: mm(setting.width),
        "crown": lambda: mm(setting.crown()),
        "pavilion": lambda: mm(setting.pavilion()),
        "girdle-height": lambda: mm(setting.girdle()),
        "corners": lambda: corners_of(setting),
        "points": lambda: corners_of(setting, sharp=True),
        "bends": lambda: corners_of(setting, sharp=False),
        "least": lambda: mm(setting.width),
        "open-back": lambda: number(int(setting.lit_behind())),
        "count": lambda: number(1),
    }


def _on_ground(places: Places) -> DrawnPlaces:
    return DrawnPlaces(places.frames, places.figures)


def corners_of(setting: StoneKind, sharp: bool | None = None) -> Places:
    """Where prongs belong round one stone: on the girdle, x pointing away from the stone; of them the sharp
    or the rounded ones, if asked. ``opening`` is the angle of the girdle there."""
    cut, size = CUTS[setting.form], (setting.length, setting.width, setting.narrow)
    rows = cut.corners(*size)
    if sharp is not None and len(rows):
        rows = rows[np.array(cut.sharp(*size), dtype=bool) == sharp]
    if len(rows) == 0:
        return Places(np.zeros((0, 3, 4)), {"opening": np.zeros(0)})
    frames = [fr.compose(fr.shifted(x, y), fr.turned(2, degrees)) for x, y, degrees in rows]
    outline = trace(setting.outline)
    opening = [_opening(outline, row, 0.15 * setting.width) for row in rows]
    return Places(np.concatenate(frames), {"opening": np.array(opening)})


def _opening(outline: np.ndarray, row: np.ndarray, reach: float) -> float:
    """The angle (degrees) between the two sides of an outline at a corner, seen over ``reach``."""
    away = outline - row[:2]
    distance = np.linalg.norm(away, axis=1)
    at, turn = int(np.argmin(distance)), np.radians(row[2])
    near = away[(distance > 0.3 * reach) & (distance < 3 * reach)]
    # A long straight side has no points of its own near the corner.
    for spots in (near, away[[at - 1, (at + 1) % len(away)]]):
        side = spots @ (-np.sin(turn), np.cos(turn))
        angles = np.degrees(np.arctan2(side, -spots @ (np.cos(turn), np.sin(turn))))
        if len(set(angles > 0)) > 1:
            return float(angles[angles > 0].mean() - angles[angles < 0].mean())
    return 180.0
