"""The metals a piece may be cast in, and the rule of mixtures that cross-checks them.

Data: ``tables/alloys.tsv`` and ``tables/elements.tsv``, a source per row. The published
density is what weights are reckoned with; the rule of mixtures only tells whether a
published figure is plausible, since a marking does not fix the recipe."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .own import WithOwn
from .rows import Row, TableError, by_name, words
from .trade_names import TradeNames

FAMILIES = "gold", "silver", "platinum", "palladium", "bronze", "brass"
"""Metal families, the key that bench limits go by."""


# Karats are parts of 24; the trade marks them with their fineness (ISO 9202).
_FINENESS = {"9": "375", "10": "417", "14": "585", "18": "750", "22": "916", "24": "999"}
_KARAT = re.compile(r"\b(\d{1,2})(?:[ -]?(?:karat|carat|kt|ct|k))?\b")
_SYMBOLS = {"au": "gold", "ag": "silver", "pt": "platinum", "plat": "platinum", "pd": "palladium"}

@dataclass(frozen=True)
class Alloy:
    """One metal as a caster orders it."""

    name: str  # What a file says after ``metal``, such as ``silver-925``
    title: str  # What a sheet prints
    family: str  # One of FAMILIES
    fineness: float  # Parts of precious metal in 1000; 0 for base metal
    density: float  # g/cm3
    colour: str  # ``#rrggbb``, our own choice of look
    composition: Mapping[str, float]
    """Parts in 1000 by element symbol, as published; empty where no recipe was found."""
    melts_from: float | None  # Solidus, deg C, or None where not found
    melts_to: float | None  # Liquidus, deg C, or None where not found
    nickel: bool  # True when the metal holds nickel or may hold it
    source: str  # Where the figures come from
    also: tuple[str, ...] = ()  # Further trade names for the same metal


@dataclass(frozen=True)
class Element:
    """A chemical element that alloys are made of; density in g/cm3 near 20 C."""

    symbol: str
    title: str
    density: float
    source: str


def mixture_density(composition: Mapping[str, float]) -> float:
    """Density, g/cm3, of a recipe in parts by mass: total mass over total volume.

    The parts need not sum to 1000. Raises KeyError for an element outside ELEMENTS and ValueError for an
    empty recipe or a part that is not above zero: check a user's recipe against ELEMENTS first."""
    if not composition or min(composition.values()) <= 0:
        raise ValueError(f"no recipe to mix: {dict(composition)}")
    volume = sum(part / ELEMENTS[symbol].density for symbol, part in composition.items())
    return sum(composition.values()) / volume


def find_alloy(name: str) -> Alloy | None:
    """The alloy of that name or further trade name, or None."""
    return ALLOYS.get(_NAMES.get(name, name))


def alloys_called(said: str) -> tuple[Alloy, ...]:
    """The alloys that people may mean by ``said``, in table order: "18k" and "750" are all golds of
    that fineness, "rose gold 14k" is one, "sterling" is silver-925. A name of the table is that
    alloy alone. Nothing when a part of it fits none: a karat is never guessed."""
    exact = find_alloy(said.strip().casefold().replace(" ", "-"))
    if exact is not None:
        return exact,
    found = [ALLOYS[name] for name in _CALLED.meant(said)]
    families = _parts(said) & frozenset(FAMILIES)  # "silver" is no silver-rich gold
    return tuple(alloy for alloy in found if families <= {alloy.family})


def metal_called(said: str) -> str | None:
    """The name of the one alloy that people mean by ``said``; None for none, or for several."""
    found = alloys_called(said)
    return found[0].name if len(found) == 1 else None


def metal_hint(said: str) -> str:
    """What to say of a metal that is not one alloy: which it may be, or what is like it."""
    from .gems import find_gem

    if find_gem(said) is not None:
        lays = "'stone' lays it and 'inlay' lets it in, a strip piece by piece: posy words stone-inlay"
        return f"{said} is a stone: {lays}; name a metal here, as silver-925"
    return _CALLED.hint(said, [alloy.name for alloy in alloys_called(said)])


def _parts(said: str) -> frozenset[str]:
    """The words of a metal's name, karats as fineness: "18 kt Yellow" is 750, yellow."""
    text = _KARAT.sub(lambda found: f" {_FINENESS.get(found[1], found[0])} ", said.casefold())
    parts = re.findall(r"[a-z]+(?=\d{3}\b)|\d+n\b|\d+[a-z]+|\d+|[a-z]+", text)
    return frozenset(_SYMBOLS.get(part, part) for part in parts if part not in ("of", "and"))


def _called(alloy: Alloy) -> frozenset[str]:
    """Every word that may stand in the name of an alloy."""
    named = alloy.name, alloy.title, alloy.family, *alloy.also
    return frozenset().union(*(_parts(name.replace("-", " ")) for name in named))


def _composition(row: Row) -> Mapping[str, float]:
    """``Ag 925, Cu 75`` as a mapping, in the order written."""
    parts = [word.split() for word in words(row, "composition")]
    recipe = {symbol: float(part) for symbol, part in parts}
    if recipe and not 990 <= sum(recipe.values()) <= 1010:
        raise TableError(f"alloys: {row['name']} does not sum to 1000")
    if not recipe.keys() <= ELEMENTS.keys():
        raise TableError(f"alloys: {row['name']} names an element that elements.tsv lacks")
    if "Ni" in recipe and row["nickel"] != "yes":
        raise TableError(f"alloys: {row['name']} holds nickel but is not marked so")
    return MappingProxyType(recipe)


ELEMENTS = by_name("elements", Element)
"""Elements by symbol, in table order."""

ALLOYS = WithOwn(by_name("alloys", Alloy, family=FAMILIES, composition=_composition))
"""Alloys by name, in table order; the house's own last."""

_NAMES = {other: alloy.name for alloy in ALLOYS.values() for other in alloy.also}

_CALLED = TradeNames("metal", lambda: {one.name: _called(one) for one in ALLOYS.table.values()}, _parts)
