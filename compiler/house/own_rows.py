"""Alloys and gems of a house's own, from the tables ``[metal.NAME]`` and ``[gem.NAME]`` of bench.toml.

    [metal.mill-silver]
    family = "silver"
    density = "10.31 g/cm3"
    melts = "790 to 885"
    fineness = 930
    composition = "Ag 930, Cu 70"
    source = "data sheet of the mill, 2025"

What each may say stands in ``stdlib/tables/house.tsv``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...stdlib.alloys import Alloy, mixture_density
from ...stdlib.gems import Gem
from .kinds import Trouble

MIXES = 0.05  # a density further from what its own recipe mixes to is taken for a slip
GREY = "#c9c9c9"


def own_metal(name: str, row: Mapping[str, Any], house: str) -> Alloy | Trouble:
    """One ``[metal.NAME]``, whose values are sound by themselves, as an alloy."""
    said = {key: entry.value for key, entry in row.items()}
    density, recipe = said["density"], said.get("composition", {})
    mixed = mixture_density(recipe) if recipe else density
    if abs(density / mixed - 1) > MIXES:
        return Trouble("this density does not fit the composition",
                       f"the recipe mixes to {mixed:.2f} g/cm3", "check it against its source")  # fmt: skip
    low, high = said.get("melts", (None, None))
    return Alloy(
        name, f"{name} (your own)", said["family"], said.get("fineness", 0.0), density,
        said.get("colour", GREY), recipe, low, high,
        said.get("nickel", "Ni" in recipe if recipe else True), f"{said['source']} ({house})",
    )  # fmt: skip


def own_gem(name: str, row: Mapping[str, Any], house: str) -> Gem:
    """One ``[gem.NAME]``, whose values are sound, as a gem."""
    said = {key: entry.value for key, entry in row.items()}
    low, high = said["hardness"]
    return Gem(
        name, f"{name} (your own)", said["density"], low, high, 0.0, 0.0, said["ultrasonic"],
        said["steam"], said["heat"], said.get("colour", GREY), "", said.get("formula", "coloured"),
        f"{said['source']} ({house})",
    )  # fmt: skip
