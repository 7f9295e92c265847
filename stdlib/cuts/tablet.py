"""Tablets: flat stones of the outline of any cut, as onyx for a signet, inlay or lapis.

Their origin lies on the back, as that of a cabochon does. A tablet is called by its outline and by
what the text says of it, as shares of its width: ``oval-tablet@THICKNESS@BEVEL@CORNER``."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .parts import Proportions, Shape, Size

if TYPE_CHECKING:
    from .model import Cut
    from .solid import Facets

NAME = "-tablet"
# Usual thickness: a share of the width, within mm; common practice, no source.
SHARE, LEAST, MOST = 0.2, 1.0, 2.5


def usual_depth(width: float) -> float:
    """How thick a flat stone of this width usually is, mm."""
    return min(max(SHARE * width, LEAST), MOST)


def spoken(cut: str) -> str:
    """A cut as people call it: a flat stone by its outline, "flat oval"."""
    return f"flat {cut.removesuffix(NAME)}" if cut.endswith(NAME) else cut


def called(cut: str, width: float, deep: float, bevel: float = 0.0, corner: float = 0.0) -> str:
    """The name of a flat stone ``deep`` mm thick, its top edge taken off by ``bevel`` mm."""
    return "@".join([cut + NAME, *(f"{one / width:.6f}" for one in (deep, bevel, corner))])


def proportions(of: Proportions, shares: list[float]) -> Proportions:
    """Those of a flat stone from (thickness, bevel, corner) as shares of its width; ``of`` those of
    the cut whose outline it has."""
    deep, bevel, corner = shares or (SHARE, 0.0, 0.0)
    return Proportions(1 - 2 * bevel, bevel, deep - bevel, 0.0, corner=corner or of.corner)


class Tablet:
    """The shape of a flat stone over the outline of another cut."""

    def __init__(self, base: Shape) -> None:
        self.outline, self.corners = base.outline, base.corners

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The mesh: back, wall, bevel if there is one, flat top."""
        from .solid import slab

        return slab(self.outline(size, p, tolerance), size, p)

    def bearing(self, p: Proportions) -> float:
        """0 degrees: the flat back sits on a level bearing."""
        return 0.0


def flat(cut: Cut, shares: list[float]) -> Cut:
    """The flat stone of a cut's outline."""
    kept = proportions(cut.proportions, shares)
    return replace(
        cut, name=cut.name + NAME, facet_count=0, proportions=kept, wall=(0.0, 99.0),
        facets_note="a flat top over straight sides",
    )  # fmt: skip
