"""Exact factors of the units that the trade measures with: lengths to mm, masses to g."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

from ..lang.lean import dataclass


@dataclass(frozen=True)
class Unit:
    """One unit: ``exact`` is how many mm (length) or g (mass) it holds, without rounding."""

    name: str
    title: str
    kind: str
    exact: Fraction
    source: str

    @property
    def factor(self) -> float:
        """The exact factor as a float, in mm or g."""
        return float(self.exact)


_YARD = "international yard and pound agreement of 1959"
_ROWS = (
    Unit("mm", "millimetre", "length", Fraction(1), "SI brochure"),
    Unit("cm", "centimetre", "length", Fraction(10), "SI brochure"),
    Unit("in", "inch", "length", Fraction("25.4"), f"25.4 mm, {_YARD}"),
    Unit("g", "gram", "mass", Fraction(1), "SI brochure"),
    Unit(
        "ct",
        "carat",
        "mass",
        Fraction("0.2"),
        "metric carat of 200 mg, 4th General Conference on Weights and Measures, 1907",
    ),
    Unit(
        "dwt",
        "pennyweight",
        "mass",
        24 * Fraction("0.06479891"),
        f"24 grains of 64.79891 mg, {_YARD}",
    ),
    Unit(
        "ozt",
        "troy ounce",
        "mass",
        480 * Fraction("0.06479891"),
        f"480 grains of 64.79891 mg, {_YARD}; UK Weights and Measures Act 1985, schedule 1",
    ),
)

UNITS: Mapping[str, Unit] = MappingProxyType({unit.name: unit for unit in _ROWS})
"""Units by the name a file uses."""

MM_PER_INCH = UNITS["in"].factor
G_PER_CARAT = UNITS["ct"].factor
G_PER_PENNYWEIGHT = UNITS["dwt"].factor
G_PER_TROY_OUNCE = UNITS["ozt"].factor
