"""What a piece costs and what it is sold for, line by line. All money is decimal; every line is rounded
to the smallest unit of the currency, and sums are sums of what is shown."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from ...lang.faults import Fault, Level
from ...stdlib.cautions import uk_hallmark
from ...stdlib.money import Money, rounded
from ..house.house import House
from .prices import Price, Prices
from .work import Metal, Work

_WAYS = {"up": ROUND_CEILING, "down": ROUND_FLOOR, "nearest": ROUND_HALF_UP}
NONE = Decimal(0)


@dataclass(frozen=True)
class Line:
    """One line of a reckoning: of which part of it, what, how much of it, what that costs in all, and
    where the figures come from. ``amount`` is None where the price is missing."""

    part: str
    what: str
    much: str
    amount: Decimal | None
    source: str


@dataclass(frozen=True)
class Cost:
    """The reckoning of one making: its lines, then what they come to.

    ``cost`` is the sum of the lines; ``profit`` what markup or margin adds, with its words; ``net`` the price
    before tax, ``tax`` on it, ``total`` what a customer pays, a whole number of what the house rounds to;
    ``rounding`` is what that added to the price before tax. With a price missing ``cost`` leaves it out, and
    there is no price."""

    currency: str
    lines: tuple[Line, ...]
    missing: tuple[str, ...]
    cost: Decimal
    profit: tuple[str, Decimal, str]
    rounding: Decimal
    net: Decimal | None
    tax: tuple[str, Decimal, str]
    total: Decimal | None


def reckoned(work: Work, house: House, today: datetime.date | None) -> tuple[Cost | None, list[Fault]]:
    """The cost of a piece by the prices of its house, and what there is to say of those. None where
    the house tells no currency, or what it tells contradicts itself."""
    if "currency" not in house.tables.get("cost", {}):
        return None, [Fault(
            "no-prices", "bench.toml has no prices yet", None, seen=house.path or "no bench.toml",
            remedy="begin with posy start --bench, which writes one to fill in; if there is one, add [cost] "
            'with currency = "EUR" and the prices you buy and work at, see posy why bench.toml',
        )]  # fmt: skip
    trouble = list(_contradictions(house))
    if trouble:
        return None, trouble
    prices = Prices(house, today)
    return _summed(house, prices, tuple(_lines(work, prices))), prices.faults


def _contradictions(house: House) -> Iterator[Fault]:
    """Tables that say one thing twice, or not at all."""
    both = (("cost", "markup", "margin"),)
    pairs = {"fine": ("per-gram", "per-ounce"), "alloy": ("per-gram", "alloying"),
             "stone": ("each", "per-carat"), "setting": ("each", "time")}  # fmt: skip
    named = [(f"{head}.{name}", *keys) for head, keys in pairs.items() for name in house.named(head)]
    for table, one, other in (*both, *named):
        said = house.tables.get(table, {})
        if one in said and other in said:
            yield Fault(
                "house-wrong-figure", f"{table} has both {one} and {other}", said[other].span,
                seen=f"{one} and {other}", limit="one of the two", remedy=f"take {other} out",
            )  # fmt: skip
        elif table != "cost" and one not in said and other not in said:
            yield Fault(
                "house-wrong-row", f"{table} wants {one} or {other}", next(iter(said.values())).span,
                remedy=f"add a line with {one} or {other}",
            )  # fmt: skip


def _lines(work: Work, prices: Prices) -> Iterator[Line]:
    for metal in work.metals:
        yield from _metal(metal, prices)
    for kind in work.stones:
        found = prices.stone(kind.gem, kind.cut, kind.size[0])
        price, by_carat = found or (None, False)
        much = f"{kind.carats:f} ct" if by_carat else str(kind.count)
        yield _line(prices, "stones", f"{kind.count} {kind.shown}", kind.carats if by_carat else kind.count,
                    much, price)  # fmt: skip
    for setting in work.settings:
        price = prices.setting(setting.called, setting.name, setting.length)
        what = f"setting {setting.count} of {setting.length:g} mm ({setting.name})"
        yield _line(prices, "setting", what, setting.count, str(setting.count), price)
    yield from _steps(work, prices)
    for name, count in work.bought.items():
        price = prices.price(f"bought.{name}", "each")
        if price is None:
            prices.missing(f"the bought part {name}", f"[bought.{name}] with each, date and source")
        yield _line(prices, "bought parts", name, count, str(count), price)
    yield from _hallmarks(work, prices)


def _line(prices: Prices, part: str, what: str, count: Decimal | int, much: str, price: Price | None) -> Line:
    """Some of a thing at its price."""
    if price is None:
        return Line(part, what, much, None, "no price")
    each = unit(price.amount)
    return Line(part, what, f"{much} at {each:f}", rounded(each * count, prices.currency), price.source)


def unit(price: Decimal) -> Decimal:
    """A price of one, to the four digits it is reckoned with, zeros beyond the second left out."""
    fine = price.quantize(Decimal("0.0001"))
    coarse = fine.quantize(Decimal("0.01"))
    return coarse if coarse == fine else fine


def _metal(metal: Metal, prices: Prices) -> Iterator[Line]:
    """The metal of one alloy: bought, lost, refined, cast."""
    name, grams = metal.alloy.name, metal.grams
    price = prices.metal(metal.alloy)
    yield _line(prices, "metal", f"{name} as cast", grams, f"{grams:f} g", price)
    table = prices.of_kind("casting", metal.alloy.family)
    if table not in prices.house.tables:
        prices.missing(f"casting {name}", f"[casting.{metal.alloy.family}] with fee or per-gram")
        yield Line("casting", f"casting {name}", f"{metal.castings}", None, "no price")
        return
    loss = _share(prices, table, "loss")
    scrap, refining = _share(prices, table, "scrap"), _share(prices, table, "refining")
    if price is not None:
        yield from _share_of(prices, price, f"{name} lost in casting and filing", grams, loss)
        yield from _share_of(prices, price, f"refining the filings of {name}", grams, scrap, refining)
    if (fee := prices.price(table, "fee")) is not None:
        yield _line(prices, "casting", f"casting {name}", metal.castings, str(metal.castings), fee)
    if (fee := prices.price(table, "per-gram")) is not None:
        yield _line(prices, "casting", f"casting {name}, by weight", grams, f"{grams:f} g", fee)


def _share(prices: Prices, table: str, key: str) -> tuple[Decimal, str]:
    """A share of the metal, and where it comes from."""
    entry = prices.house.entry(table, key)
    return (Decimal(repr(entry.value)), entry.source) if entry else (NONE, "")


def _share_of(
    prices: Prices, price: Price, what: str, grams: Decimal, *shares: tuple[Decimal, str]
) -> Iterator[Line]:
    """A share (of a share) of the metal's worth; no line for none."""
    whole = Decimal(1)
    for share, _ in shares:
        whole *= share
    if whole:
        said = " of ".join(f"{(100 * share).normalize():f} %" for share, _ in reversed(shares))
        each = unit(price.amount)
        sources = "; ".join(dict.fromkeys([*(source for _, source in shares), price.source]))
        amount = rounded(each * grams * whole, prices.currency)
        yield Line("metal", what, f"{said} of {grams:f} g at {each:f}", amount, sources)


def _steps(work: Work, prices: Prices) -> Iterator[Line]:
    """Steps of the work by time and by what they use up."""
    grams = sum((metal.grams for metal in work.metals), NONE)
    stones = sum(kind.count for kind in work.stones)
    per = {"piece": Decimal(1), "casting": Decimal(work.castings), "stone": Decimal(stones), "gram": grams}
    for name in prices.house.named("step"):
        table = f"step.{name}"
        said = prices.house.tables[table]
        count = per[prices.house.value(table, "per")]
        if "word" in said:
            count *= work.words.get(said["word"].value, 0)
        if not count:
            continue
        much = f"{count.normalize():f}" + (" g" if prices.house.value(table, "per") == "gram" else "")
        if "time" in said:
            yield _line(prices, "work", name, count, much, prices.time(table))
        if "each" in said:
            what = f"{name}, what it uses" if "time" in said else name
            yield _line(prices, "work", what, count, much, prices.price(table, "each"))


def _hallmarks(work: Work, prices: Prices) -> Iterator[Line]:
    for metal in work.metals:
        table = prices.of_kind("hallmark", metal.alloy.family)
        if not metal.alloy.fineness or table not in prices.house.tables:
            continue
        law = prices.house.value(table, "law")
        if law == "uk" and uk_hallmark(metal.alloy, float(metal.grams)) == "exempt":
            continue
        yield _line(prices, "hallmarking", metal.alloy.name, 1, "1", prices.price(table, "fee"))


def _summed(house: House, prices: Prices, lines: tuple[Line, ...]) -> Cost:
    """What the lines come to, with what the house adds."""
    money = prices.currency
    cost = sum((line.amount for line in lines if line.amount is not None), NONE)
    missing = tuple(line.what for line in lines if line.amount is None)
    profit, entry = _profit(house, cost, money), house.entry("cost", "tax")
    share, name = Decimal(repr(entry.value)) if entry else NONE, str(house.value("cost", "tax-name"))
    name += f", {100 * entry.value:g} %" if entry else ""
    broken = any(fault.level is Level.FAULT for fault in prices.faults)
    before = cost + profit[1]
    total = None
    if not missing and not broken:
        total = _whole(house, prices, before + rounded(before * share, money))
    if total is None:
        return Cost(money, lines, missing, cost, profit, NONE, None, (name, NONE, ""), None)
    tax = rounded(total * share / (1 + share), money)
    said = (name, tax, entry.source if entry else "")
    return Cost(money, lines, (), cost, profit, total - tax - before, total - tax, said, total)


def _profit(house: House, cost: Decimal, money: str) -> tuple[str, Decimal, str]:
    """What the house adds: words, amount, source."""
    markup, margin = house.entry("cost", "markup"), house.entry("cost", "margin")
    if markup is not None:
        share = Decimal(repr(markup.value))
        return f"markup, {100 * markup.value:g} % of the cost", rounded(cost * share, money), markup.source
    if margin is not None:
        share = Decimal(repr(margin.value))
        added = rounded(cost / (1 - share), money) - cost
        return f"margin, {100 * margin.value:g} % of the price before tax", added, margin.source
    return "", NONE, ""


def _whole(house: House, prices: Prices, price: Decimal) -> Decimal | None:
    """A price as a whole number of what the house rounds to; None where that makes no sense."""
    entry = house.entry("cost", "round-to")
    if entry is None:
        return price
    step: Money = entry.value
    if step.currency != prices.currency or not step.amount:
        prices.tell("price-in-other-currency", "this is not in the currency of bench.toml", entry,
                    f"write it in {prices.currency}", Level.FAULT, step.shown, prices.currency)  # fmt: skip
        return None
    return (price / step.amount).quantize(Decimal(1), _WAYS[house.value("cost", "rounding")]) * step.amount
