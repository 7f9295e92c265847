"""Pear cabochon: a dome over the outline of a pear.

Its origin lies on the back, as that of a cabochon does."""

from __future__ import annotations

from .cabochon import bearing, domed
from .parts import Proportions, Size
from .pear import corners, outline
from .solid import Facets

__all__ = ["bearing", "corners", "facets", "outline"]


def facets(size: Size, p: Proportions, tolerance: float) -> Facets:
    """The mesh: back, wall and dome."""
    return domed(outline(size, p, tolerance), size, p, tolerance)
