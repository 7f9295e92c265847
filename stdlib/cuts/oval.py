"""Oval brilliant: the round brilliant drawn out along its length, 57 facets."""

from .round import bearing, corners, facets, outline

__all__ = ["bearing", "corners", "facets", "outline"]
