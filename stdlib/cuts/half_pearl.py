"""Half pearl: half a sphere on a flat back, a cabochon without a wall.

Its origin lies on the back, as that of a cabochon does."""

from __future__ import annotations

from .cabochon import bearing, corners, facets, outline

__all__ = ["bearing", "corners", "facets", "outline"]
