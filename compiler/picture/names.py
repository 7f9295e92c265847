"""Names of how a picture may be taken, with a line of help; free of numpy, for the command line."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..drawing.names import VIEW_HELP

RESTS: Mapping[str, str] = MappingProxyType(
    {
        "hanging": "before a wall, on a cord through its loops",
        "lying": "on the ground",
        "stand": "upright, a ring on a peg",
    }
)
"""How a piece rests, by name."""

LOOKS: Mapping[str, str] = MappingProxyType(
    {name: VIEW_HELP[name] for name in ("corner", "face", "side", "end", "back")}
)
"""From where it is looked at, by name: of the views of a drawing."""

FINISHES: Mapping[str, tuple[float, str]] = MappingProxyType(
    {
        "polished": (0.03, "to a mirror"),
        "satin": (0.22, "with a soft sheen"),
        "sandblasted": (0.42, "matt all over"),
    }
)
"""Finishes by name: how rough the face is (GGX roughness, our own figures) and how it looks."""

GROUNDS: Mapping[str, str] = MappingProxyType(
    {
        "pale": "#c6c6c3", "white": "#f4f3f0", "grey": "#8f9091", "slate": "#3b4046",
        "black": "#101113", "linen": "#d8cfc0",
    }
)
"""Grounds by name; any other colour as #rrggbb."""
