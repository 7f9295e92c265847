"""Flat and domed stones of the outline of any cut, as onyx for a signet, inlay, lapis or sea glass.

Their origin lies on the back, as that of a cabochon does. A tablet is called by its outline and by
what the text says of it, as shares of its width: ``oval-tablet@THICKNESS@BEVEL@CORNER``; a dome by its
outline and its height over the wall, where that was measured: ``marquise-dome@HEIGHT``."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .parts import Proportions, Shape, Size

if TYPE_CHECKING:
    import numpy as np

    from .model import Cut
    from .solid import Facets

NAME, DOME = "-tablet", "-dome"
OWN = "outline"  # what a stone of an outline of one's own is called before its spots: see outline.py
# Usual thickness: a share of the width, within mm; common practice, no source.
SHARE, LEAST, MOST = 0.2, 1.0, 2.5


def usual_depth(width: float) -> float:
    """How thick a flat stone of this width usually is, mm."""
    return min(max(SHARE * width, LEAST), MOST)


def spoken(cut: str) -> str:
    """A cut as people call it: a flat stone by its outline, "flat oval", a domed one "marquise cabochon"."""
    base = base_of(cut).partition("/")[0]
    said = "own outline" if base == OWN else base
    return f"flat {said}" if cut.endswith(NAME) else said + " cabochon" * cut.endswith(DOME)


def base_of(cut: str) -> str:
    """The cut whose outline a flat or a domed stone has."""
    return cut.removesuffix(NAME).removesuffix(DOME)


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
        from .solid import hubbed, slab

        rim = self.outline(size, p, tolerance)
        return hubbed(slab(rim, size, p), middle(rim))

    def bearing(self, p: Proportions) -> float:
        """0 degrees: the flat back sits on a level bearing."""
        return 0.0


class Dome(Tablet):
    """The shape of a cabochon over the outline of another cut."""

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The mesh: back, wall, dome, highest over the middle of its area."""
        import numpy as np

        from .cabochon import domed
        from .solid import Facets, hubbed

        rim = self.outline(size, p, tolerance)
        centre = middle(rim)
        stone = domed(rim - centre, size, p, tolerance)
        return hubbed(Facets(stone.points + np.array([*centre, 0.0]), stone.faces, stone.names), centre)


def flat(cut: Cut, shares: list[float]) -> Cut:
    """The flat stone of a cut's outline."""
    kept = proportions(cut.proportions, shares)
    return replace(
        cut, name=cut.name + NAME, facet_count=0, proportions=kept, wall=(0.0, 99.0),
        facets_note="a flat top over straight sides",
    )  # fmt: skip


def domed(cut: Cut, like: Cut) -> Cut:
    """The cabochon of a cut's outline, as high as those ``like`` it."""
    kept = replace(like.proportions, corner=cut.proportions.corner)
    return replace(
        cut, name=cut.name + DOME, facet_count=0, proportions=kept, wall=like.wall,
        facets_note=like.facets_note,
    )  # fmt: skip


def middle(rim: np.ndarray) -> np.ndarray:
    """The middle of the area of an outline (n, 2)."""
    import numpy as np

    after = np.roll(rim, -1, axis=0)
    part = rim[:, 0] * after[:, 1] - rim[:, 1] * after[:, 0]
    return np.asarray(((rim + after) * part[:, None]).sum(axis=0) / (3 * part.sum()))
