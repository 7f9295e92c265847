"""How stones take light: the fire of each, and whether one sees into it.

Data: ``tables/gem-light.tsv``, a source per row. Refractive indices stand in ``tables/gems.tsv``."""

from __future__ import annotations

from dataclasses import dataclass

from .rows import by_name

BODIES = "clear", "milky", "play", "opaque", "pearl"
"""What one sees of a stone's inside: all, a glow, a glow with a play of colour, nothing, a lustre."""


@dataclass(frozen=True)
class GemLight:
    """``dispersion`` is the index for blue light (430.8 nm, G) less that for red (686.7 nm, B), the
    interval gem tables are printed for; 0 where one does not see in. ``body`` is one of BODIES."""

    name: str
    dispersion: float
    body: str
    source: str


GEM_LIGHT = by_name("gem-light", GemLight, body=BODIES)
"""By the names of ``gems.tsv``."""

_OTHERS = GemLight("", 0.018, "clear", "a usual stone of colour; house choice")


def light_of(gem: str) -> GemLight:
    """How a stone takes light; one of the house's own as a usual clear stone."""
    return GEM_LIGHT.get(gem, _OTHERS)
