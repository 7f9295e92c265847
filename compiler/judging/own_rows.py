"""Alloys and gems of a house's own, from the tables ``[metal.NAME]`` and ``[gem.NAME]`` of bench.toml.

    [metal.mill-silver]
    family = "silver"                   # one of gold, silver, platinum, palladium, bronze, brass
    density = "10.31 g/cm3"
    melts = "790 to 885"                # deg C, solidus and liquidus; may be left out
    fineness = 930                      # parts of precious metal in 1000; 0 without it
    composition = "Ag 930, Cu 70"       # parts in 1000; may be left out
    nickel = false                      # whether it may hold nickel; yes, if neither is said
    colour = "#e2e1dd"
    source = "data sheet of the mill, 2025"

    [gem.sea-glass]
    density = "2.5 g/cm3"
    hardness = "5.5 to 6"               # Mohs
    ultrasonic = "risky"                # safe, usually safe, risky, never; so steam and heat
    steam = "never"
    heat = "never"
    source = "weighed in water, our bench"
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from ...lang.suggest import did_you_mean
from ...stdlib.alloys import ALLOYS, ELEMENTS, FAMILIES, Alloy, find_alloy, mixture_density
from ...stdlib.gems import GEMS, SAFETY, Gem, find_gem

_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_COLOUR = re.compile(r"#[0-9a-f]{6}")
_SPAN = re.compile(r"\s*(\d+(?:\.\d+)?)(?:\s*to\s*(\d+(?:\.\d+)?))?\s*C?\s*")
_DENSITY = re.compile(r"\s*(\d+(?:\.\d+)?)\s*g/cm3\s*")
LIGHT, HEAVY = 0.8, 25.0  # g/cm3, of anything worn
MIXES = 0.05  # a density further from what its own recipe mixes to is taken for a slip
METAL = {"family", "density", "melts", "fineness", "composition", "nickel", "colour", "source"}
GEM = {"density", "hardness", "ultrasonic", "steam", "heat", "formula", "colour", "source"}
GREY = "#c9c9c9"

Tell = Callable[..., None]
"""``tell(key, message, seen=, limit=, remedy=)``: a fault at a key of the row, or at its head."""


class Wrong(Exception):
    """A row that cannot be used; its fault is told."""


def own_metal(name: str, row: Mapping[str, Any], house: str, tell: Tell) -> Alloy | None:
    """One ``[metal.NAME]`` as an alloy; None when something is wrong with it, which is told."""
    try:
        _checked(name, row, METAL, {"family", "density", "source"}, find_alloy(name), tell)
        density, recipe = _density(row, tell), _recipe(row, tell)
        mixed = mixture_density(recipe) if recipe else density
        if abs(density / mixed - 1) > MIXES:
            _no(tell, "density", "this density does not fit the composition",
                f"{density:g} g/cm3", f"the recipe mixes to {mixed:.2f} g/cm3")  # fmt: skip
        low, high = _span(row, "melts", tell) if "melts" in row else (None, None)
        fineness = row.get("fineness", 0)
        if isinstance(fineness, bool) or not isinstance(fineness, int | float) or not (
            0 <= fineness <= 1000
        ):
            _no(tell, "fineness", "fineness is parts of 1000", str(fineness), "from 0 to 1000")
        nickel = row.get("nickel", "Ni" in recipe if recipe else True)
        if not isinstance(nickel, bool):
            _no(tell, "nickel", "nickel is true or false", str(nickel))
        family = _one_of(row, "family", FAMILIES, tell)
        title = f"{name} (the house's own)"
        return Alloy(name, title, family, float(fineness), density, _colour(row, tell), recipe,
                     low, high, nickel, f"{row['source']} ({house})")  # fmt: skip
    except Wrong:
        return None


def own_gem(name: str, row: Mapping[str, Any], house: str, tell: Tell) -> Gem | None:
    """One ``[gem.NAME]`` as a gem; None when something is wrong with it, which is told."""
    try:
        needed = {"density", "hardness", "ultrasonic", "steam", "heat", "source"}
        _checked(name, row, GEM, needed, find_gem(name), tell)
        low, high = _span(row, "hardness", tell)
        if not 1 <= low <= high <= 10:
            _no(tell, "hardness", "hardness is on Mohs' scale", str(row["hardness"]), "from 1 to 10")
        ultrasonic, steam, heat = (
            _one_of(row, key, SAFETY, tell) for key in ("ultrasonic", "steam", "heat")
        )
        formula = _one_of(row, "formula", ("diamond", "coloured"), tell) if "formula" in row else (
            "coloured"
        )
        return Gem(name, f"{name} (the house's own)", _density(row, tell), low, high, 0.0, 0.0,
                   ultrasonic, steam, heat, _colour(row, tell), "", formula,
                   f"{row['source']} ({house})")  # fmt: skip
    except Wrong:
        return None


def _checked(
    name: str, row: Mapping[str, Any], known: set[str], needed: set[str], taken: Any, tell: Tell
) -> None:
    """Name and keys of a row."""
    if not _NAME.fullmatch(name):
        _no(tell, None, f"'{name}' is no name: small letters, figures and hyphens", name)
    if taken is not None and taken.name in (*ALLOYS.table, *GEMS.table):
        _no(tell, None, f"{name} stands in posy's own table", name, remedy="give yours another name")
    for key in row:
        if key not in known:
            hint = did_you_mean(key, sorted(known))
            _no(tell, key, f"there is no '{key}' here", key, ", ".join(sorted(known)), hint)
    for key in sorted(needed - set(row)):
        _no(tell, None, f"{name} wants its {key}", None, remedy=f"add a line: {key} = ...")
    source = row["source"]
    if not isinstance(source, str) or not 3 <= len(source.strip()) <= 300:
        _no(tell, "source", "the source says where the figures come from", str(source)[:40])


def _no(
    tell: Tell, key: str | None, message: str, seen: str | None = None, limit: str | None = None,
    remedy: str | None = None,
) -> None:  # fmt: skip
    tell(key, message, seen=seen, limit=limit, remedy=remedy or "check it against its source")
    raise Wrong


def _density(row: Mapping[str, Any], tell: Tell) -> float:
    found = _DENSITY.fullmatch(str(row["density"]))
    value = float(found[1]) if found else 0.0
    if not LIGHT <= value <= HEAVY:
        _no(tell, "density", "density is a figure in g/cm3", str(row["density"])[:40],
            f"from {LIGHT:g} to {HEAVY:g} g/cm3", 'as in: density = "10.4 g/cm3"')  # fmt: skip
    return value


def _span(row: Mapping[str, Any], key: str, tell: Tell) -> tuple[float, float]:
    found = _SPAN.fullmatch(str(row[key]))
    low = float(found[1]) if found else 1.0
    high = float(found[2]) if found and found[2] else low
    if found is None or low > high:
        _no(tell, key, f"{key} is one figure, or from low to high", str(row[key])[:40],
            remedy=f'as in: {key} = "{"790 to 885" if key == "melts" else "6 to 7"}"')  # fmt: skip
    return low, high


def _recipe(row: Mapping[str, Any], tell: Tell) -> dict[str, float]:
    if "composition" not in row:
        return {}
    parts = [part.split() for part in str(row["composition"]).split(",")]
    try:
        recipe = {symbol: float(amount) for symbol, amount in parts}
    except ValueError:
        recipe = {}
    if not recipe or not recipe.keys() <= ELEMENTS.keys() or min(recipe.values()) <= 0 or not (
        990 <= sum(recipe.values()) <= 1010
    ):
        _no(tell, "composition", "the composition is elements and their parts of 1000",
            str(row["composition"])[:60], f"of {', '.join(ELEMENTS)}",
            'as in: composition = "Ag 930, Cu 70"')  # fmt: skip
    return recipe


def _one_of(row: Mapping[str, Any], key: str, values: tuple[str, ...], tell: Tell) -> str:
    said = str(row[key])
    if said not in values:
        _no(tell, key, f"'{said[:40]}' is no {key}", said[:40], ", ".join(values),
            did_you_mean(said, values))  # fmt: skip
    return said


def _colour(row: Mapping[str, Any], tell: Tell) -> str:
    said = str(row.get("colour", GREY)).lower()
    if not _COLOUR.fullmatch(said):
        _no(tell, "colour", "a colour is # and six figures", said[:40], remedy='as in: "#e2e1dd"')
    return said
