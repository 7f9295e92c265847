"""What stones weigh: by the published formula, by the solid, and by the trade's chart.

Weights are in carats (0.2 g), measures in mm, densities in g/cm3.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from ..lang.lean import dataclass
from .cuts import Cut
from .cuts.parts import DIAMOND
from .rows import number, read_rows

CARAT = 0.2  # g
AGREE = 0.05  # formula and solid apart by more than this are worth a word
_FACETED, _SMOOTH = 0.01, 0.0005  # chord error for weighing: mm, and share of the width


@dataclass(frozen=True)
class StoneWeight:
    """A stone weighed in two ways, in carats.

    carats_formula: by the published estimating formula of its cut (cut.weight.source).
    carats_volume: volume of its facet mesh x density. differs: the two are more than 5 %
    apart, as happens far from a cut's usual length to width.
    """

    carats_formula: float
    carats_volume: float

    @property
    def differs(self) -> bool:
        """Whether the two disagree by more than 5 % of the formula."""
        return abs(self.carats_volume - self.carats_formula) > AGREE * self.carats_formula


def weigh(
    cut: Cut,
    length: float,
    width: float,
    narrow: float | None,
    density: float,
    formula: str = "diamond",
) -> StoneWeight:
    """The weight of a stone at its cut's default proportions; ``formula`` as in ``Gem``.

    Raises ValueError when cut.problem() finds fault with the measures.
    """
    tolerance = _FACETED if cut.facet_count else _SMOOTH * width
    solid = cut.facets(length, width, narrow, tolerance=tolerance)
    return StoneWeight(
        carats_formula=cut.carats(length, width, narrow, density=density, formula=formula),
        carats_volume=solid.volume() * density / 1000 / CARAT,
    )


@lru_cache(maxsize=1)
def _chart() -> tuple[tuple[float, float], ...]:
    """(mm across, carats) rows of the round brilliant chart, smallest first."""
    rows = read_rows("round_chart", ["across", "carats", "source"])
    return tuple((number(row, "across"), number(row, "carats")) for row in rows)


def chart_carats(across: float, density: float = DIAMOND) -> float | None:
    """What the trade's chart calls a round brilliant of this diameter, None off the chart.

    Between rows by the power law through them; a chart for diamond, scaled by density.
    Source: R2 rock2polish.com. Rounded, and heavy against the formula: see the table.
    """
    rows = _chart()
    if not rows[0][0] <= across <= rows[-1][0]:
        return None
    for (a, low), (b, high) in pairwise(rows):
        if across <= b:
            way = math.log(across / a) / math.log(b / a)
            return low * (high / low) ** way * density / DIAMOND
    return None


def chart_across(carats: float, density: float = DIAMOND) -> float | None:
    """The diameter in mm the trade's chart gives for a weight, None off the chart."""
    rows = _chart()
    carats = carats * DIAMOND / density
    if not rows[0][1] <= carats <= rows[-1][1]:
        return None
    for (a, low), (b, high) in pairwise(rows):
        if carats <= high:
            way = math.log(carats / low) / math.log(high / low) if high > low else 0.0
            return a * (b / a) ** way
    return None
