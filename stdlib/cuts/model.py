"""What a stone cut is: its sizes, proportions, weight and shape.

A cut is one row of tables/cuts.tsv and one module of this package that draws it. The row
alone answers help, size checks and weights; the module (and numpy) is loaded for shape."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, cast

from .parts import Proportions, Shape, Size, Weight
from .tablet import DOME, NAME, OWN, base_of, spoken

if TYPE_CHECKING:
    import numpy as np

    from .solid import Facets

__all__ = ["Cut", "Proportions", "Shape", "Size", "Weight"]

LEAST, MOST = 0.5, 100.0  # mm: smaller is dust in a setting, larger is not a jewelry stone
TURNED = "round", "pearl", "half-pearl"  # round always
OVAL = "oval", "cabochon", "rose"  # and where as wide as long
LIKE = {
    "oval": "round", "baguette": "tapered-baguette", "square-step": "emerald", "half-pearl": "cabochon",
}  # fmt: skip
"""Cuts that are drawn as another is, each in its own proportions."""
FREE = 3.0  # times as long as the usual most, a cabochon or a flat stone: house choice, no source
STEP = 1e-6  # shares finer than this are rounding: they would make facets of no width


@dataclass(frozen=True)
class Cut:
    """A stone cut under its trade name, with everything the language asks of it.

    sizes: how many measures the user gives (1 across; 2 length x width, of which 1 will
    do when square is true; 3 length x wide end x narrow end). facet_count: as the trade
    counts them, facets_note says with or without girdle and culet. ratio: usual length to
    width; ratios: the least and most, but for ``free`` stones. narrow_ratio: narrow end over wide end.
    wall: least and most girdle (cabochon wall) in mm when the defaults are used."""

    name: str
    also: tuple[str, ...]
    help: str
    sizes: int
    square: bool
    facet_count: int
    facets_note: str
    proportions: Proportions
    source: str
    convex: bool
    ratio: float
    ratios: tuple[float, float]
    narrow_ratio: float
    wall: tuple[float, float]
    weight: Weight
    coloured: Weight

    @property
    def flat(self) -> bool:
        """Whether it is a flat stone, a tablet."""
        return self.name.endswith(NAME)

    def turned(self, length: float, width: float) -> bool:
        """Whether a stone of these measures is round, mm."""
        outline = base_of(self.name)
        return outline in TURNED or (length == width and outline in OVAL)

    @property
    def plain(self) -> bool:
        """Whether its weight is that of its solid: no formula is published for such stones."""
        return self.name.endswith((NAME, DOME)) or self.name.startswith(OWN)

    @property
    def free(self) -> bool:
        """Whether it is cut to any outline: a dome or a flat stone, with no facets to fit round it."""
        return self.plain or (self.facet_count == 0 and self.sizes > 1)

    @property
    def domed(self) -> bool:
        """Whether it rises from an upright wall, on a flat back: a dome, smooth or faceted, or a flat top."""
        return self.proportions.pavilion == 0

    @property
    def crowned(self) -> bool:
        """Whether it has facets over a pavilion: neither a flat back nor a pearl."""
        return self.facet_count > 0 and not self.domed

    # sizes -----------------------------------------------------------------------------

    def problem(
        self, length: float, width: float, narrow: float | None = None, *, free: bool = False
    ) -> str | None:
        """Why no stone can have these measures (mm): figure and limit, or None if it can; ``free``
        where it is to be flat or domed."""
        given = {"length": length, "width": width}
        if narrow is not None:
            given["narrow end"] = narrow
        for what, value in given.items():
            if not math.isfinite(value) or not LEAST <= value <= MOST:
                return f"the {what} is {value:g} mm; a stone is {LEAST:g} to {MOST:g} mm in each direction"
        if self.sizes == 1 and length != width:
            return f"a {self.name} is as long as it is wide, not {length:g} by {width:g} mm"
        return self._ratio_problem(length, width, free) or self._taper_problem(width, narrow)

    def _ratio_problem(self, length: float, width: float, free: bool) -> str | None:
        low, high = self.ratios
        ratio = length / width
        if low - 1e-9 <= ratio <= high * (FREE if free or self.free else 1.0) + 1e-9:
            return None
        name = spoken(self.name)
        return (
            f"{length:g} by {width:g} mm is {ratio:.2f} times as long as wide; "
            f"{'an' if name[0] in 'aeo' else 'a'} {name} runs from {low:g} to {high:g} times"
        )

    def _taper_problem(self, width: float, narrow: float | None) -> str | None:
        if self.sizes < 3:
            if narrow in (None, width):
                return None
            return f"a {self.name} has no narrow end; {narrow:g} mm is one measure too many"
        if narrow is None or 0.3 * width - 1e-9 <= narrow <= width:
            return None
        return (
            f"the narrow end is {narrow:g} mm of {width:g} mm; "
            f"a {self.name} narrows to between 0.3 and 1 of its wide end"
        )

    def stands(self, width: float, height: float) -> bool:
        """Whether these (mm) are the measures of such a stone upright: the length is given last."""
        return self.problem(width, height) is not None and self.problem(height, width) is None

    def size(self, length: float, width: float, narrow: float | None = None) -> Size:
        """The measures with the narrow end filled in; ValueError on a problem()."""
        trouble = self.problem(length, width, narrow)
        if trouble:
            raise ValueError(f"{self.name}: {trouble}")
        if narrow is None:
            narrow = width * self.narrow_ratio
        return Size(float(length), float(width), float(narrow))

    # heights and angles ----------------------------------------------------------------

    def shares(self, width: float) -> Proportions:
        """The default proportions for a width in mm, the wall kept within its limits."""
        p = self.proportions
        # A tiny cabochon keeps its dome: no more than 15 % of its height (house choice).
        least = min(self.wall[0], max(p.girdle, 0.15 * p.depth) * width)
        wall = min(max(p.girdle * width, least), self.wall[1])
        if wall == p.girdle * width:
            return p
        return replace(p, girdle=wall / width, crown=p.crown + p.girdle - wall / width)

    def crown_height(self, length: float, width: float) -> float:
        """Mm from the girdle's upper rim to the table (cabochon: dome; pearl: half)."""
        return self.shares(width).crown * width

    def pavilion_depth(self, length: float, width: float) -> float:
        """Mm from the girdle's lower rim to the culet (pearl: half its height)."""
        return self.shares(width).pavilion * width

    def girdle_thickness(self, length: float, width: float) -> float:
        """Mm, measured where the mains meet the girdle (cabochon: its upright wall)."""
        return self.shares(width).girdle * width

    def total_depth(self, length: float, width: float) -> float:
        """Mm from table (or top) to culet (or back)."""
        return self.shares(width).depth * width

    def heights(self, length: float, width: float) -> tuple[float, float]:
        """Lowest and highest of the facet mesh, mm: from mid girdle, or from a flat back."""
        p = self.shares(width)
        if p.pavilion == 0.0:
            return 0.0, round(p.girdle + p.crown, 12) * width
        half = 0.0 if p.girdle < STEP else p.girdle / 2
        # The facets' own rounding (solid.py), so that both agree to the last bit.
        return -round(half + p.pavilion, 12) * width, round(half + p.crown, 12) * width

    @property
    def pavilion_angle(self) -> float:
        """Degrees of the pavilion facets next to the girdle at mid side: the bearing's."""
        return self._shape().bearing(self.proportions)

    # weight ----------------------------------------------------------------------------

    def carats(
        self, length: float, width: float, narrow: float | None = None, *, density: float,
        depth: float | None = None, formula: str = "diamond",
    ) -> float:
        """Carats by the published estimating formula, mm and g/cm3: ``weight`` for diamonds and
        what is cut like them, its factors scaled by density / 3.52, or ``coloured``; ``metal`` by its solid.

        depth (mm) is the stone's own where measured, else the default proportions give it."""
        size = self.size(length, width, narrow)
        if depth is None:
            depth = self.total_depth(length, width)
        if self.plain or formula == "metal":
            volume = self.facets(length, width, narrow, tolerance=0.002).volume()
            return volume * depth / self.total_depth(length, width) * density / 200
        by = self.coloured if formula == "coloured" else self.weight
        return by.carats(size, depth, density)

    def size_for(self, carats: float, density: float, formula: str = "diamond") -> tuple[float, float]:
        """(length, width) in mm of a stone of this weight, at the usual ratio.

        Raises ValueError when the stone would lie outside LEAST to MOST mm."""
        if not carats > 0 or not density > 0:
            raise ValueError(f"{self.name}: {carats} ct at {density} g/cm3 is no stone")
        low, high = LEAST * max(1.0, 1 / self.ratio, 1 / self.narrow_ratio), MOST / self.ratio
        high = min(high, MOST)
        for _ in range(80):  # the wall's limits in mm bend the cube law, so halve instead
            width = (low + high) / 2
            made = self.carats(width * self.ratio, width, density=density, formula=formula)
            heavy = made > carats
            low, high = (low, width) if heavy else (width, high)
        made = self.carats(low * self.ratio, low, density=density, formula=formula)
        if abs(made / carats - 1) > 1e-6:
            raise ValueError(f"{self.name}: no stone of {carats} ct between the size limits")
        return low * self.ratio, low

    # shape -----------------------------------------------------------------------------

    def _shape(self) -> Shape:
        from .tablet import Dome, Tablet

        name, _, drawn = base_of(self.name).partition("/")
        module = import_module("." + LIKE.get(name, name).replace("-", "_"), __package__)
        shape = cast(Shape, module.of(drawn) if drawn else getattr(module, "SHAPE", module))
        return Tablet(shape) if self.flat else Dome(shape) if self.name.endswith(DOME) else shape

    def facets(
        self, length: float, width: float, narrow: float | None = None, *, tolerance: float = 0.01,
        proportions: Proportions | None = None,
    ) -> Facets:
        """The stone as a closed facet mesh in mm (shared: its points are read-only).

        tolerance: chord error (mm) allowed along curved girdles and domes, no finer than
        a hundred-thousandth of the length. Raises ValueError where problem() would speak."""
        size = self.size(length, width, narrow)
        if not 0 < tolerance <= 10:
            raise ValueError(f"{self.name}: tolerance {tolerance} mm is not over 0 up to 10")
        tolerance = max(tolerance, 1e-5 * max(length, width))
        p = proportions if proportions is not None else self.shares(width)
        _check(self.name, p)
        if p.girdle < STEP:
            p = replace(p, girdle=0.0)  # a knife edge; thinner is only rounding
        return _cut(self, size, p, tolerance)

    def outline(
        self, length: float, width: float, narrow: float | None = None, *, tolerance: float = 0.01,
    ) -> np.ndarray:
        """(m, 2) true girdle outline in mm, counter-clockwise, chord error <= tolerance."""
        size = self.size(length, width, narrow)
        return self._shape().outline(size, self.proportions, tolerance)

    def corners(self, length: float, width: float, narrow: float | None = None) -> np.ndarray:
        """(k, 3): x, y (mm) and outward direction (degrees) where prongs belong."""
        import numpy as np

        size = self.size(length, width, narrow)
        rows = self._shape().corners(size, self.proportions)
        return np.array([row[:3] for row in rows], dtype=np.float64).reshape(-1, 3)

    def sharp(self, length: float, width: float, narrow: float | None = None) -> tuple[bool, ...]:
        """For each of corners(): is it a point that wants a vee instead of a prong."""
        size = self.size(length, width, narrow)
        return tuple(row[3] for row in self._shape().corners(size, self.proportions))


def _check(name: str, p: Proportions) -> None:
    """ValueError for proportions no stone can have."""
    heights = p.crown, p.girdle, p.pavilion
    good = all(math.isfinite(v) and 0 <= v <= 2 for v in heights) and p.depth > 0
    tips = 0 < p.star < 1 and 0 < p.lower < 1 and 0 <= p.corner < 0.5
    if not good or not tips or not 0 <= p.culet < 0.5 or not 0 <= p.table <= 1:
        raise ValueError(f"{name}: no stone has the proportions {p}")


@lru_cache(maxsize=256)
def _cut(cut: Cut, size: Size, p: Proportions, tolerance: float) -> Facets:
    """A stone of this very size, made from one of unit width."""
    # Finer steps only at powers of the root of two, so one unit stone serves many sizes.
    step = math.floor(2 * math.log2(tolerance / size.width))
    unit = Size(
        round(size.length / size.width / STEP) * STEP, 1.0, round(size.narrow / size.width / STEP) * STEP,
    )
    stone = _unit(cut, unit, p, 2.0 ** (step / 2))
    return stone.scaled(size.length / unit.length, size.width)


@lru_cache(maxsize=128)
def _unit(cut: Cut, size: Size, p: Proportions, tolerance: float) -> Facets:
    """A stone of width 1."""
    return cut._shape().facets(size, p, tolerance)
