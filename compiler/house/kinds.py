"""The kinds of values a bench.toml may hold: read from what is written, told as people read it."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from ...lang.suggest import did_you_mean
from ...lang.values import ANGLE, LENGTH, MASS, factors_to
from ...stdlib.alloys import ELEMENTS
from ...stdlib.gems import GEMS, gem_called, gem_hint
from ...stdlib.house_rows import HouseRow

if TYPE_CHECKING:
    from ...stdlib.money import Money

# Units a figure may be written in: the kind -> {written: factor}.
_UNITS: Mapping[str, Mapping[str, float]] = {
    "mm": factors_to(LENGTH),
    "g": factors_to(MASS),
    "deg": factors_to(ANGLE),
    "share": {"%": 0.01},
    "mm2": {"mm2": 1.0},
    "mm3": {"mm3": 1.0, "cm3": 1000.0},
    "g/cm3": {"g/cm3": 1.0},
    "min": {"min": 1.0, "h": 60.0},
    "days": {"days": 1.0, "day": 1.0},
    "C": {"C": 1.0},
}
_PLAIN = "count", "ratio", "mohs", "number"
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
_FIGURE = re.compile(rf"\s*({_NUMBER})\s*(\S*)\s*")
_SPAN = re.compile(r"\s*(\d+(?:\.\d+)?)(?:\s*to\s*(\d+(?:\.\d+)?))?\s*C?\s*")
_COLOUR = re.compile(r"#[0-9a-f]{6}")
YEARS = 1990, 2200


class Trouble(Exception):
    """A value that is not of its kind: what is wrong, its limit, and what to do if that is known."""

    def __init__(self, said: str, limit: str | None = None, remedy: str | None = None) -> None:
        super().__init__(said)
        self.said, self.limit, self.remedy = said, limit, remedy


def value_of(said: Any, row: HouseRow) -> Any:
    """What ``said`` (as TOML gives it) means as a value of the row. Raises Trouble.

    Figures come in the unit of their kind, shares of one, dates as ``datetime.date``, money as
    ``Money``, a span as (low, high), a recipe as parts of 1000 by symbol."""
    kind, _, choices = row.kind.partition(" of ")
    if kind == "one":
        return _choice(said, tuple(choices.split("|")), row.key)
    if kind in _UNITS or kind in _PLAIN:
        return _within(_figure(said, kind), row)
    return _READ[kind](said, row)


def shown_figure(figure: float, unit: str) -> str:
    """A figure as people read it."""
    if unit == "share":
        return f"{100 * figure:.4g} %"
    if unit in _PLAIN:
        return f"{figure:.4g}" + (" times" if unit == "ratio" else "")
    return f"{figure:.4g} {unit}"


def shown_bounds(row: HouseRow) -> str:
    """What a figure of the row must lie between, in words; nothing where it may be any."""
    if row.kind == "text" or row.kind.startswith("span"):
        return ""
    low, high = (None if one is None else shown_figure(one, row.kind) for one in (row.least, row.most))
    if low is not None and high is not None:
        return f"from {low} to {high}"
    return f"{low} or more" if low is not None else f"{high} or less" if high is not None else ""


def like(row: HouseRow) -> str:
    """An example of a value in TOML."""
    if row.like or row.kind not in (*_UNITS, *_PLAIN):
        bare = row.kind in (*_PLAIN, "date", "yes/no")
        return row.like if bare else f'"{row.like}"'
    figure = float(row.usual)
    return f'"{shown_figure(figure, row.kind)}"' if row.kind in _UNITS else f"{figure:g}"


def _figure(said: Any, kind: str) -> float:
    from decimal import Decimal  # exact: 7 % is 0.07

    units = _UNITS.get(kind)
    if isinstance(said, bool) or not isinstance(said, (int, float, str)):
        raise Trouble("this is no figure")
    found = _FIGURE.fullmatch(str(said))
    if found is None:
        raise Trouble(f"'{str(said)[:40]}' is no figure")
    figure, written = Decimal(found[1]), found[2]
    if units is None:
        if written:
            raise Trouble(f"it is a plain number, without '{written[:20]}'")
        if kind == "count" and figure != int(figure):
            raise Trouble("it is a whole number")
        return float(figure)
    if not written:
        raise Trouble(f"it needs its unit, {' or '.join(units)}")
    if written not in units:
        raise Trouble(f"'{written[:20]}' is not a unit it can have: {', '.join(units)}")
    return float(figure * Decimal(repr(units[written])))


def _within(figure: float, row: HouseRow) -> float:
    """The figure, if the row allows it."""
    if row.slip and figure == 0:
        return figure
    least, most = row.least, row.most
    if row.slip and figure < 0:
        raise Trouble("a limit is never negative", "0 or more", "check the figure and its unit")
    if (least is not None and figure < least) or (most is not None and figure > most):
        usual = f"usual is {shown_figure(float(row.usual), row.kind)}; " if row.slip else ""
        said = (
            f"{usual}this must be a slip"
            if row.slip
            else ("it is never negative" if figure < 0 and least == 0 else "it is out of range")
        )
        raise Trouble(said, shown_bounds(row), "check the figure and its unit")
    return figure


def _choice(said: Any, choices: tuple[str, ...], key: str) -> str:
    if said in choices:
        return str(said)
    shown = str(said)[:40]
    remedy = "write hint" if shown == "note" and "hint" in choices else did_you_mean(shown, choices)
    known = ", ".join(choices)
    raise Trouble(f"'{shown}' is no {key}", known, remedy or f"write one of {known}")


def _text(said: Any, row: HouseRow) -> str:
    most = int(row.most or 300)
    if isinstance(said, str) and 0 < len(said.strip()) <= most and said.isprintable():
        return said.strip()
    raise Trouble("it is a short text", f"1 to {most} characters in one line")


def _yes(said: Any, row: HouseRow) -> bool:
    if isinstance(said, bool):
        return said
    raise Trouble(f"{row.key} is true or false")


def _date(said: Any, row: HouseRow) -> datetime.date:
    if isinstance(said, str):
        try:
            said = datetime.date.fromisoformat(said.strip())
        except ValueError:
            raise Trouble("it is a date: year-month-day", "as in ISO 8601") from None
    if isinstance(said, datetime.datetime) or not isinstance(said, datetime.date):
        raise Trouble("it is a date: year-month-day", "as in ISO 8601")
    if not YEARS[0] <= said.year <= YEARS[1]:
        raise Trouble("this year must be a slip", f"from {YEARS[0]} to {YEARS[1]}")
    return said


def currency_of(said: Any) -> str:
    """A currency's code. Raises Trouble."""
    from ...stdlib.money import currencies

    code = str(said).strip()
    if code in currencies():
        return code
    capital = code.upper()
    hint = f"did you mean '{capital}'?" if capital in currencies() else did_you_mean(capital, currencies())
    raise Trouble(f"'{code[:20]}' is no currency", "the codes of ISO 4217, as in EUR, GBP, USD", hint)


def _money(said: Any, row: HouseRow) -> Money:
    from decimal import Decimal

    from ...stdlib.money import Money

    found = _FIGURE.fullmatch(str(said)) if isinstance(said, (int, float, str)) else None
    if found is None or isinstance(said, bool):
        raise Trouble(f"'{str(said)[:40]}' is no price", "a figure and a currency")
    if not found[2]:
        raise Trouble("a price needs its currency", "the codes of ISO 4217, as in EUR, GBP, USD")
    amount, currency = Decimal(found[1]), currency_of(found[2])
    if amount < 0:
        raise Trouble("a price is never negative", f"0 {currency} or more", "check the price")
    if amount > 10**9:
        raise Trouble("this must be a slip", f"{10**9:,} {currency} or less", "check the price")
    return Money(amount, currency)


def _span(said: Any, row: HouseRow) -> tuple[float, float]:
    found = _SPAN.fullmatch(str(said))
    low = float(found[1]) if found else 1.0
    high = float(found[2]) if found and found[2] else low
    if found is None or low > high:
        raise Trouble(f"{row.key} is one figure, or from low to high")
    for one in (low, high):
        if (row.least or 0) > one or (row.most is not None and one > row.most):
            raise Trouble(f"{row.key}: {one:g} is out of range", f"from {row.least:g} to {row.most:g}")
    return low, high


def _recipe(said: Any, row: HouseRow) -> dict[str, float]:
    parts = [part.split() for part in str(said).split(",")]
    try:
        recipe = {symbol: float(amount) for symbol, amount in parts}
    except ValueError:
        recipe = {}
    if (
        not recipe
        or not recipe.keys() <= ELEMENTS.keys()
        or min(recipe.values()) <= 0
        or not (990 <= sum(recipe.values()) <= 1010)
    ):
        raise Trouble("the composition is elements and their parts of 1000", f"of {', '.join(ELEMENTS)}")
    return recipe


def _gem(said: Any, row: HouseRow) -> str:
    name = gem_called(said) if isinstance(said, str) else None
    if name in GEMS.table:
        return str(name)
    raise Trouble(f"'{str(said)[:40]}' is no stone posy knows", None, gem_hint(str(said)[:40]))


def _cut(said: Any, row: HouseRow) -> str:
    from ...stdlib.cuts import CUTS, tablet

    if not isinstance(said, str):
        return _choice(said, tuple(CUTS), "cut")
    flat, domed = said.startswith("flat "), said.endswith(" cabochon")
    base = said.removeprefix("flat ").removesuffix(" cabochon").replace("own outline", tablet.OWN)
    return _choice(base, (*CUTS, tablet.OWN), "cut") + flat * tablet.NAME + domed * tablet.DOME


def _colour(said: Any, row: HouseRow) -> str:
    if _COLOUR.fullmatch(str(said).lower()):
        return str(said).lower()
    raise Trouble("a colour is # and six figures")


_READ: Mapping[str, Callable[[Any, HouseRow], Any]] = {
    "text": _text,
    "yes/no": _yes,
    "date": _date,
    "money": _money,
    "currency": lambda said, row: currency_of(said),
    "span": _span,
    "recipe": _recipe,
    "colour": _colour,
    "gem": _gem,
    "cut": _cut,
}
