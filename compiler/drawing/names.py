"""Names of views with a line of help; free of numpy, for the command line."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

VIEW_HELP: Mapping[str, str] = MappingProxyType(
    {
        "face": "from the front, as you look at it",
        "side": "from below, the face up: a ring stands on its shank",
        "end": "from the right, the face up",
        "back": "from behind",
        "far-side": "from above, the face up",
        "far-end": "from the left, the face up",
        "corner": "from above and a little to the right, for show",
        "back-corner": "the same from underneath",
    }
)
"""Views by name."""

USUAL = ("face", "side", "end", "corner")
"""What a drawing shows unless told otherwise."""
