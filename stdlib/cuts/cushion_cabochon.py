"""Cushion cabochon: a dome over the outline of a cushion.

Its origin lies on the back, as that of a cabochon does."""

from __future__ import annotations

from .cabochon import bearing, domed
from .cushion import corners, outline
from .parts import Proportions, Size
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: back, wall and dome."""
    return domed(outline(size, p, tolerance), size, p, tolerance)
