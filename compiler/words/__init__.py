"""The core words: one record and one maker each. A new core word is added in its module's
WORDS."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from ...lang.words import Word


@cache
def core_words() -> Mapping[str, Word]:
    """Every core word by name, in the order of the reference."""
    from . import (
        bending,
        bodies,
        boring,
        copies,
        cutting,
        engraving,
        fingers,
        lines,
        rings,
        rounds,
        seating,
        spotting,
        stones,
        turned,
        twisting,
        wires,
    )

    modules = (
        bodies,
        rounds,
        fingers,
        rings,
        wires,
        twisting,
        turned,
        lines,
        spotting,
        stones,
        seating,
        boring,
        cutting,
        engraving,
        bending,
        copies,
    )
    return {word.name: word for module in modules for word in module.WORDS}
