"""The stones a piece may carry: density, hardness, refractive index and what harms them.

Data: ``tables/gems.tsv``, a source per row."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .own import WithOwn
from .rows import by_name
from .trade_names import TradeNames

SAFETY = "safe", "usually safe", "risky", "never"
"""How a stone stands a treatment, from best to worst."""

@dataclass(frozen=True)
class Gem:
    """One kind of stone, whatever its cut."""

    name: str  # What a file says after ``gem``, such as ``pink-sapphire``
    title: str  # What a sheet prints
    density: float  # g/cm3 (the trade says specific gravity)
    mohs_low: float  # Hardness on Mohs' scale, lowest
    mohs_high: float  # Hardness on Mohs' scale, highest
    index_low: float  # Refractive index, lowest
    index_high: float  # Refractive index, highest
    ultrasonic: str  # One of SAFETY, in an ultrasonic cleaner
    steam: str  # One of SAFETY, under a steam cleaner
    torch: str  # One of SAFETY, at soldering heat, though cleaned, coated and slowly cooled
    colour: str  # ``#rrggbb``, our own choice of look
    notes: str  # A word to the setter, or nothing
    formula: str  # By which of a cut's formulas it is weighed, or ``metal``: by its solid
    source: str  # Where the figures come from
    also: tuple[str, ...] = ()  # Further trade names for the same stone
    faceted: bool = True  # Whether it is cut in facets at all; a pearl is not

    @property
    def is_metal(self) -> bool:
        """Whether it is a coin or medal: weighed in grams, and set for what it is."""
        return self.formula == "metal"

    @property
    def spoken(self) -> str:
        """What one says: "blue sapphire" of "Sapphire, blue"."""
        kind, _, which = self.title.lower().partition(", ")
        return f"{which} {kind}" if which and " to " not in which else kind


def find_gem(name: str) -> Gem | None:
    """The stone of that name or further trade name, or None."""
    return GEMS.get(_NAMES.get(name, name))


def gem_called(said: str) -> str | None:
    """The name of the one stone that people mean by ``said``; None for none, or for several."""
    plain = said.strip().casefold()
    exact = find_gem(plain.replace(" ", "-")) or find_gem(plain.replace(" ", ""))
    found = [exact.name] if exact else _CALLED.meant(said)
    return found[0] if len(found) == 1 else None


def gem_hint(said: str) -> str:
    """What to say of a name that is not one stone: which it may be, or what is like it."""
    exact = find_gem(said.casefold())
    return f"write {exact.name}" if exact else _CALLED.hint(said)


def _parts(said: str) -> frozenset[str]:
    return frozenset(re.findall(r"[a-z]+", said.casefold()))


_KINDS = {"formula": ("diamond", "coloured", "metal"), "ultrasonic": SAFETY, "steam": SAFETY, "torch": SAFETY}
GEMS = WithOwn(by_name("gems", Gem, **_KINDS))
"""Stones by name, in table order; the house's own last."""

_NAMES = {other: gem.name for gem in GEMS.values() for other in gem.also}

_CALLED = TradeNames(
    "gem",
    lambda: {one.name: _parts(" ".join((one.name, one.title, *one.also))) for one in GEMS.table.values()},
    _parts,
)
