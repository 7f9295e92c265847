"""How this workshop casts: metal, investment, temperatures and flask, from bench.toml or as usual."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ...stdlib.alloys import Alloy
from ...stdlib.melts import MeltRow, MouldRow, Range, heats, melting_range, melts, moulds
from ...stdlib.provenance import told
from ..freezing.heat import Melt, Mould, Pour
from ..house.house import House


@dataclass(frozen=True)
class Figure:
    """A figure with its unit, the range that is usual for it if any, and where it comes from."""

    name: str
    value: float
    unit: str
    source: str
    low: float | None = None
    high: float | None = None


class Caster:
    """What holds for one alloy in one house."""

    def __init__(self, alloy: Alloy, house: House) -> None:
        self.alloy, self._house = alloy, house
        self.row: MeltRow = melts()[alloy.family]
        self.range: Range = melting_range(alloy)
        said = house.value("pour", "investment")
        self.investment: MouldRow = moulds()[str(said) if said else self.row.mould]

    def figure(self, table: str, key: str) -> float:
        """A figure of bench.toml, or the usual one."""
        return float(self._house.value(table, key))

    @cached_property
    def settings(self) -> tuple[Figure, ...]:
        """The temperatures and materials this is worked out with, to be told."""
        row, mould = self.row, self.investment
        return (
            Figure("solidus", self.range.solidus, "C", self._melts(self.alloy.melts_from)),
            Figure("liquidus", self.range.liquidus, "C", self._melts(self.alloy.melts_to)),
            self._with("superheat", row.superheat.figure, "C", row.superheat.low, row.superheat.high),
            self._with("flask", row.flask.figure, "C", row.flask.low, row.flask.high),
            self._with("conductivity", mould.conductivity, "W/(m K)", source=mould.source),
            self._with("mould-density", mould.density, "g/cm3", source=mould.source),
            self._with("speed", self.figure("pour", "speed"), "mm/s"),
        )

    def _melts(self, published: float | None) -> str:
        """Where an end of the range it melts in comes from."""
        if published is not None:
            return told(self.alloy.source)
        if self.alloy.melts_to is not None:
            return f"taken {self.range.liquidus - self.range.solidus:g} C lower: none is published for it"
        return "usual for its family, from memory: ask your caster"

    def _with(
        self, key: str, usual: float, unit: str, low: float | None = None, high: float | None = None,
        source: str = "",
    ) -> Figure:  # fmt: skip
        entry = self._house.entry("pour", key)
        if entry is None:
            return Figure(key, usual, unit, source or self.row.source, low, high)
        return Figure(key, float(entry.value), unit, entry.source, low, high)

    def __getitem__(self, name: str) -> float:
        return next(one.value for one in self.settings if one.name == name)

    @cached_property
    def melt(self) -> Melt:
        """The metal."""
        latent, warm = heats(self.alloy)
        row = self.row
        return Melt(
            row.conductivity / 1000, self.alloy.density / 1000, warm, warm, latent,
            self.range.solidus, self.range.liquidus, row.ending,
        )  # fmt: skip

    @cached_property
    def mould(self) -> Mould:
        """The investment."""
        return Mould(self["conductivity"] / 1000, self["mould-density"] / 1000 * self.investment.heat)

    @cached_property
    def pour(self) -> Pour:
        """Temperatures as the mould is filled."""
        return Pour(self.range.liquidus + self["superheat"], self["flask"])
