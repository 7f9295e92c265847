"""How stones take light: the fire of each, and whether one sees into it.

Data: ``tables/gem-light.tsv``, a source per row. Refractive indices stand in ``tables/gems.tsv``.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..lang.lean import dataclass
from .rows import Row, number, one_of, read_rows, unrepeated

BODIES = ("clear", "milky", "play", "opaque", "pearl")
"""What one sees of a stone's inside: all, a glow, a glow with a play of colour, nothing, a lustre."""


@dataclass(frozen=True)
class GemLight:
    """``dispersion`` is the index for blue light (430.8 nm, G) less that for red (686.7 nm, B), the
    interval gem tables are printed for; 0 where one does not see in. ``body`` is one of BODIES."""

    name: str
    dispersion: float
    body: str
    source: str


def _light(row: Row) -> GemLight:
    return GemLight(row["name"], number(row, "dispersion"), one_of(row, "body", BODIES), row["source"])


def _lights() -> Mapping[str, GemLight]:
    rows = [_light(row) for row in read_rows("gem-light", ["name", "dispersion", "body", "source"])]
    unrepeated("gem-light", (row.name for row in rows))
    return MappingProxyType({row.name: row for row in rows})


GEM_LIGHT = _lights()
"""By the names of ``gems.tsv``."""

_OTHERS = GemLight("", 0.018, "clear", "a usual stone of colour; house choice")


def light_of(gem: str) -> GemLight:
    """How a stone takes light; one of the house's own as a usual clear stone."""
    return GEM_LIGHT.get(gem, _OTHERS)
