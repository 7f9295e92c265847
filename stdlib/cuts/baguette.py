"""Baguette: the tapered baguette without its taper."""

from .tapered_baguette import bearing, corners, facets, outline

__all__ = ["bearing", "corners", "facets", "outline"]
