"""The parts of a cut: its proportions, a stone's size, how it is drawn, how it is weighed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np

    from .solid import Facets


@dataclass(frozen=True)
class Proportions:
    """How a stone is cut, as shares of its width.

    table: table across; crown, girdle, pavilion: heights (a cabochon has girdle = its wall and crown = its
    dome above it); culet: culet across; star: star length as a share of the way from table edge to girdle;
    lower: lower-half length as a share of the way from girdle to culet; corner: how much of the width a cut
    corner takes on each side. Published meanings: GIA round brilliant terms (star 50 %, lower half 80 %)."""

    table: float
    crown: float
    girdle: float
    pavilion: float
    culet: float = 0.0
    star: float = 0.5
    lower: float = 0.8
    corner: float = 0.0

    @property
    def depth(self) -> float:
        """Total depth as a share of width."""
        return self.crown + self.girdle + self.pavilion

    @property
    def pavilion_angle(self) -> float:
        """Degrees from the girdle plane to a straight slope from girdle to culet."""
        return math.degrees(math.atan2(2 * self.pavilion, 1 - self.culet))


@dataclass(frozen=True)
class Size:
    """A stone's measures in mm: length, width, and the narrow end where it tapers."""

    length: float
    width: float
    narrow: float


class Shape(Protocol):
    """What the module of a cut gives; all lengths in mm, frame as in Facets."""

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The facet mesh."""

    def outline(self, size: Size, p: Proportions, tolerance: float) -> np.ndarray:
        """(m, 2) true girdle outline, counter-clockwise, chord error <= tolerance."""

    def corners(self, size: Size, p: Proportions) -> list[tuple[float, float, float, bool]]:
        """Where prongs belong: x, y, outward direction (degrees), is it a sharp corner."""

    def bearing(self, p: Proportions) -> float:
        """Angle in degrees of the pavilion facets next to the girdle, at mid side."""


@dataclass(frozen=True)
class Weight:
    """A published estimating formula.

    rule: "area" = L x W x depth x f; "mean" = ((L + W) / 2)^2 x depth x f; a tapered
    stone counts the mean of its ends as W. factors: (L:W, f) rows, the nearest is taken.
    density: the one f is for, g/cm3 (1 where f is per unit of density)."""

    rule: str
    factors: tuple[tuple[float, float], ...]
    density: float
    source: str

    def carats(self, size: Size, depth: float, density: float) -> float:
        """Weight in carats of a stone depth mm deep, of a density in g/cm3."""
        wide = (size.width + size.narrow) / 2
        base = ((size.length + wide) / 2) ** 2 if self.rule == "mean" else size.length * wide
        return base * depth * self.factor(size.length / wide) * density / self.density

    def factor(self, ratio: float) -> float:
        """The factor of the row nearest to a length to width ratio (the lower on a tie)."""
        return min(self.factors, key=lambda row: (abs(row[0] - ratio), row[0]))[1]
