"""The stones a piece may carry: density, hardness, refractive index and what harms them.

Data: ``tables/gems.tsv``, a source per row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from ..lang.lean import dataclass
from .own import WithOwn
from .rows import Row, number, one_of, read_rows, unrepeated, words
from .trade_names import TradeNames

SAFETY = ("safe", "usually safe", "risky", "never")
"""How a stone stands a treatment, from best to worst."""

_COLUMNS = [
    "name",
    "title",
    "also",
    "density",
    "mohs_low",
    "mohs_high",
    "index_low",
    "index_high",
    "ultrasonic",
    "steam",
    "torch",
    "colour",
    "notes",
    "formula",
    "source",
]


@dataclass(frozen=True)
class Gem:
    """One kind of stone, whatever its cut."""

    name: str
    """What a file says after ``gem``, such as ``pink-sapphire``."""
    title: str
    """What a sheet prints."""
    density: float
    """g/cm3 (the trade says specific gravity)."""
    mohs_low: float
    """Hardness on Mohs' scale, lowest."""
    mohs_high: float
    """Hardness on Mohs' scale, highest."""
    index_low: float
    """Refractive index, lowest."""
    index_high: float
    """Refractive index, highest."""
    ultrasonic: str
    """One of SAFETY, in an ultrasonic cleaner."""
    steam: str
    """One of SAFETY, under a steam cleaner."""
    torch: str
    """One of SAFETY, at soldering heat, though cleaned, coated and slowly cooled."""
    colour: str
    """``#rrggbb``, our own choice of look."""
    notes: str
    """A word to the setter, or nothing."""
    formula: str
    """By which of a cut's formulas it is weighed: ``diamond``, or ``coloured``."""
    source: str
    """Where the figures come from."""
    also: tuple[str, ...] = ()
    """Further trade names for the same stone."""

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
    exact = find_gem(said.strip().casefold().replace(" ", "-"))
    found = [exact.name] if exact else _CALLED.meant(said)
    return found[0] if len(found) == 1 else None


def gem_hint(said: str) -> str:
    """What to say of a name that is not one stone: which it may be, or what is like it."""
    exact = find_gem(said.casefold())
    return f"write {exact.name}" if exact else _CALLED.hint(said)


def _parts(said: str) -> frozenset[str]:
    return frozenset(re.findall(r"[a-z]+", said.casefold()))


def _gem(row: Row) -> Gem:
    """One row of tables/gems.tsv."""
    return Gem(
        name=row["name"],
        title=row["title"],
        density=number(row, "density"),
        mohs_low=number(row, "mohs_low"),
        mohs_high=number(row, "mohs_high"),
        index_low=number(row, "index_low"),
        index_high=number(row, "index_high"),
        ultrasonic=one_of(row, "ultrasonic", SAFETY),
        steam=one_of(row, "steam", SAFETY),
        torch=one_of(row, "torch", SAFETY),
        colour=row["colour"],
        notes=row["notes"],
        formula=one_of(row, "formula", ("diamond", "coloured")),
        source=row["source"],
        also=words(row, "also"),
    )


def _gems() -> Mapping[str, Gem]:
    """tables/gems.tsv by name, in table order."""
    gems = [_gem(row) for row in read_rows("gems", _COLUMNS)]
    unrepeated("gems", (name for gem in gems for name in (gem.name, *gem.also)))
    return MappingProxyType({gem.name: gem for gem in gems})


GEMS: WithOwn[Gem] = WithOwn(_gems())
"""Stones by name, in table order; the house's own last."""

_NAMES = {other: gem.name for gem in GEMS.values() for other in gem.also}

_CALLED = TradeNames(
    "gem",
    lambda: {one.name: _parts(" ".join((one.name, one.title, *one.also))) for one in GEMS.table.values()},
    _parts,
)
