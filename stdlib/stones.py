"""What stones weigh: by the published formula and by the solid.

Weights are in carats (0.2 g), measures in mm, densities in g/cm3."""

from __future__ import annotations

from dataclasses import dataclass

from .cuts import Cut

CARAT = 0.2  # g
_FACETED, _SMOOTH = 0.01, 0.0005  # chord error for weighing: mm, and share of the width


@dataclass(frozen=True)
class StoneWeight:
    """A stone weighed in two ways, in carats.

    carats_formula: by the published estimating formula of its cut (cut.weight.source).
    carats_volume: volume of its facet mesh x density. Far from a cut's usual length to
    width the two are more than 5 % apart."""

    carats_formula: float
    carats_volume: float


def weigh(
    cut: Cut, length: float, width: float, narrow: float | None, density: float, formula: str = "diamond",
) -> StoneWeight:
    """The weight of a stone at its cut's default proportions; ``formula`` as in ``Gem``.

    Raises ValueError when cut.problem() finds fault with the measures."""
    tolerance = _FACETED if cut.facet_count else _SMOOTH * width
    solid = cut.facets(length, width, narrow, tolerance=tolerance)
    return StoneWeight(
        carats_formula=cut.carats(length, width, narrow, density=density, formula=formula),
        carats_volume=solid.volume() * density / 1000 / CARAT,
    )
