"""Cushion tablet: a flat stone with a bevelled edge, over the outline of a cushion.

Its origin lies on the back, as that of a cabochon does."""

from __future__ import annotations

from .cabochon import bearing, tabled
from .cushion import corners, outline
from .parts import Proportions, Size
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: back, wall and flat top."""
    return tabled(outline(size, p, tolerance), size, p)
