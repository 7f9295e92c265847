"""How metals and investments take and pass on heat, for working out how they freeze.

Data: ``tables/melts.tsv``, ``tables/moulds.tsv`` and ``tables/element-heats.tsv``, a source per row. Heats of
alloys are mixed by mass from their elements, as no published figures for jewelry alloys were found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

from .alloys import FAMILIES, Alloy
from .rows import Row, by_name, number, read_rows

HOTTER = 1.2  # heat to warm near melting over that at 25 C: from memory (Ag 0.29, Au 0.155, Cu 0.49 J/(g K))
NARROWEST = 20.0  # K: solidus below a liquidus that stands alone in the table: house choice
# What a family is taken for where no recipe is published.
_LIKE = {
    "silver": "Ag 925 Cu 75", "gold": "Au 585 Ag 100 Cu 315", "platinum": "Pt 950 Ru 50",
    "palladium": "Pd 950 Ru 50", "bronze": "Cu 900 Sn 100", "brass": "Cu 850 Zn 150",
}  # fmt: skip


@dataclass(frozen=True)
class Usual:
    """A figure and the range that is usual."""

    figure: float
    low: float
    high: float


@dataclass(frozen=True)
class MeltRow:
    """How a family of metals freezes; see ``tables/melts.tsv``."""

    family: str
    solidus: float
    liquidus: float
    conductivity: float
    ending: float
    shrink: float
    superheat: Usual
    flask: Usual
    mould: str
    source: str


@dataclass(frozen=True)
class MouldRow:
    """An investment as fired: W/(m K), g/cm3, J/(g K)."""

    name: str
    title: str
    conductivity: float
    density: float
    heat: float
    source: str


@dataclass(frozen=True)
class Range:
    """Where an alloy melts, deg C, and whether that is its own (else usual for its family)."""

    solidus: float
    liquidus: float
    own: bool


@cache
def melts() -> Mapping[str, MeltRow]:
    """Rows by family."""

    def usual(name: str) -> Callable[[Row], Usual]:
        return lambda row: Usual(*(number(row, f"{name}{end}") for end in ("", "_low", "_high")))

    ranges = {name: usual(name) for name in ("superheat", "flask")}
    return by_name("melts", MeltRow, family=FAMILIES, mould=tuple(moulds()), **ranges)


@cache
def moulds() -> Mapping[str, MouldRow]:
    """Investments by name."""
    return by_name("moulds", MouldRow)


@cache
def _heats() -> Mapping[str, tuple[float, float]]:
    rows = read_rows("element-heats")
    return {row["symbol"]: (number(row, "fusion"), number(row, "heat")) for row in rows}


def melting_range(alloy: Alloy) -> Range:
    """Where an alloy melts: its own figures, else those of its family."""
    top, low = alloy.melts_to, alloy.melts_from
    if top is None:
        usual = melts()[alloy.family]
        return Range(usual.solidus, usual.liquidus, False)
    return Range(top - NARROWEST if low is None else low, top, low is not None)


def heats(alloy: Alloy) -> tuple[float, float]:
    """(heat of melting J/g, heat to warm it near melting J/(g K)) of an alloy, mixed by mass."""
    recipe = dict(alloy.composition)
    if not recipe or any(symbol not in _heats() for symbol in recipe):
        said = _LIKE[alloy.family].split()
        recipe = {symbol: float(part) for symbol, part in zip(said[::2], said[1::2], strict=True)}
    whole = sum(recipe.values())
    fusion, warm = (
        sum(part * _heats()[symbol][k] for symbol, part in recipe.items()) / whole for k in (0, 1)
    )
    return fusion, HOTTER * warm
