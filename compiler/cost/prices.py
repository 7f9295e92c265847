"""The prices of a house for what a piece asks for; what is missing, old or foreign money is told."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from decimal import Decimal

from ...lang.faults import Fault, Level
from ...lang.values import UNITS
from ...stdlib.alloys import Alloy
from ...stdlib.cuts.tablet import spoken
from ...stdlib.money import Money
from ..house.house import House
from ..house.reader import Entry

OZT = Decimal(repr(UNITS["ozt"][1]))  # g in a troy ounce
_FINE = 1000  # fineness is in parts of this
_NEED = "add to bench.toml:"


@dataclass(frozen=True)
class Price:
    """A price in the house's currency, with where it comes from."""

    amount: Decimal
    source: str


class Prices:
    """Looks prices up. ``faults`` gathers what there is to say of them, each once."""

    def __init__(self, house: House, today: datetime.date | None) -> None:
        self.house, self.today = house, today
        self.currency: str = house.value("cost", "currency") or ""
        self.faults: list[Fault] = []

    # -- what is wrong

    def tell(
        self, code: str, said: str, entry: Entry | None = None, remedy: str | None = None,
        level: Level = Level.WARNING, seen: str | None = None, limit: str | None = None,
    ) -> None:  # fmt: skip
        """A remark, once."""
        fault = Fault(code, said, entry.span if entry else None, level, seen, limit, remedy)
        if fault not in self.faults:
            self.faults.append(fault)

    def missing(self, what: str, remedy: str) -> None:
        """A price that the house does not have."""
        self.tell("price-missing", f"{what} has no price", None, f"{_NEED} {remedy}")

    # -- one price

    def price(self, table: str, key: str, per: Decimal = Decimal(1)) -> Price | None:
        """The money at a key, divided by ``per``, in the house's currency; None without it."""
        entry = self.house.tables.get(table, {}).get(key)
        if entry is None:
            return None
        self._dated(table)
        money: Money = entry.value
        amount, source = money.amount / per, self._source(table, entry)
        if money.currency == self.currency:
            return Price(amount, source)
        rate = self._exchange(money.currency, entry)
        if rate is None:
            return None
        return Price(amount * rate.amount, f"{source}, at {rate.source}")

    def _source(self, table: str, entry: Entry) -> str:
        """The line, who gave it and when."""
        said = self.house.tables[table]
        more = [str(said[key].value) for key in ("source", "date") if key in said]
        return entry.source + (f" ({', '.join(more)})" if more else "")

    def _exchange(self, currency: str, entry: Entry) -> Price | None:
        """What one of another currency is worth; told where nothing says so."""
        table = f"exchange.{currency}"
        rate = self.house.tables.get(table, {}).get("rate")
        if rate is None:
            self.tell(
                "price-in-other-currency",
                f"this price is in {currency}, and nothing tells what that is in {self.currency}", entry,
                f"write the price in {self.currency}, or add a table [{table}] with its rate",
                Level.FAULT, currency, self.currency,
            )  # fmt: skip
            return None
        if rate.value.currency != self.currency:
            self.tell(
                "price-in-other-currency", f"this rate is told in {rate.value.currency}", rate,
                f"write what one {currency} is worth in {self.currency}", Level.FAULT,
                rate.value.currency, self.currency,
            )  # fmt: skip
            return None
        self._dated(table)
        return Price(rate.value.amount, self._source(table, rate))

    def _dated(self, table: str) -> None:
        """What there is to say of the date of a table's prices."""
        entry = self.house.tables[table].get("date")
        if entry is None or self.today is None:
            return
        age = (self.today - entry.value).days
        most = self.house.value("cost", "price-age")
        if age < 0:
            self.tell(
                "price-in-the-future", f"the price of {table} is of a day that is yet to come", entry,
                "check the year; --date tells the day it is worked out for", Level.FAULT,
                f"{entry.value}", f"{self.today} or earlier",
            )  # fmt: skip
        elif age > most:
            self.tell(
                "price-old", f"the price of {table} is {age} days old", entry,
                "ask anew, and write the new price and its day", Level.WARNING, f"{age} days",
                f"{most:g} days or less",
            )  # fmt: skip

    # -- what a piece asks for

    def metal(self, alloy: Alloy) -> Price | None:
        """A gram of an alloy: as it is bought, or by the fine metal in it and alloying."""
        table = f"alloy.{alloy.name}"
        whole = self.price(table, "per-gram")
        if whole is not None:
            return whole
        fine = self._fine(alloy)
        if fine is None:
            need = f"[{table}] with per-gram, date and source"
            if alloy.fineness:
                need += f"; or [fine.{alloy.family}] with per-gram, date and source"
            self.missing(f"a gram of {alloy.name}", need)
            return None
        more = self.price(table, "alloying")
        if more is None:
            return fine
        return Price(fine.amount + more.amount, f"{fine.source}; alloying {more.source}")

    def _fine(self, alloy: Alloy) -> Price | None:
        """The fine metal in a gram of an alloy."""
        table = f"fine.{alloy.family}"
        price = self.price(table, "per-gram") or self.price(table, "per-ounce", OZT)
        if price is None or not alloy.fineness:
            return None
        share = Decimal(repr(alloy.fineness)) / _FINE
        return Price(price.amount * share, f"{alloy.fineness:g} parts of 1000 at {price.source}")

    def stone(self, gem: str, cut: str, length: float) -> tuple[Price, bool] | None:
        """The price of a stone, and whether it is by the carat. The first table that fits counts."""
        for table in self._fitting("stone", length):
            said = self.house.tables[table]
            if said["gem"].value == gem and ("cut" not in said or said["cut"].value == cut):
                for key in ("each", "per-carat"):
                    if key in said:
                        price = self.price(table, key)
                        return None if price is None else (price, key == "per-carat")
        self.missing(
            f"{gem}, {spoken(cut)}, {length:g} mm",
            f'a table [stone.NAME] with gem = "{gem}", each or per-carat, date and source',
        )  # fmt: skip
        return None

    def setting(self, called: Collection[str], name: str, length: float) -> Price | None:
        """The price of setting one stone. The first table that fits counts."""
        for table in self._fitting("setting", length):
            if self.house.tables[table]["kind"].value in called:
                if "each" in self.house.tables[table]:
                    return self.price(table, "each")
                if "time" in self.house.tables[table]:
                    return self.time(table)
        self.missing(
            f"setting a stone of {length:g} mm ({name})",
            f'a table [setting.NAME] with kind = "{name.rpartition(", ")[2]}" and each or time',
        )  # fmt: skip
        return None

    def time(self, table: str) -> Price | None:
        """What the time a table tells costs at its rate; None without a time."""
        time = self.house.entry(table, "time")
        rate = self.house.entry(table, "rate")
        if time is None or rate is None:
            return None
        hour = self.price(f"rate.{rate.value}", "per-hour")
        if hour is None:
            self.missing(f"an hour of {rate.value}", f"[rate.{rate.value}] with per-hour")
            return None
        minutes = Decimal(repr(time.value))
        return Price(
            hour.amount * minutes / 60,
            f"{minutes.normalize():f} min, {time.source}, at {hour.amount:f} an hour, {hour.source}",
        )

    def of_kind(self, head: str, family: str) -> str:
        """The table of a family of metals, or that for any."""
        own = f"{head}.{family}"
        return own if own in self.house.tables else f"{head}.any"

    def _fitting(self, head: str, length: float) -> Iterator[str]:
        """Tables that hold for a length of stone, in the order of the file."""
        for name in self.house.named(head):
            table = f"{head}.{name}"
            low, high = self.house.value(table, "from"), self.house.value(table, "to")
            if (low or 0.0) - 1e-6 <= length <= (float("inf") if high is None else high) + 1e-6:
                yield table
