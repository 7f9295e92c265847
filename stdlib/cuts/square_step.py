"""Square step cut: the emerald cut made square, with larger cut corners."""

from .emerald import bearing, corners, facets, outline

__all__ = ["bearing", "corners", "facets", "outline"]
