"""The faults that reckoning with prices can find, for `posy why`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# Code -> (title, why it is a fault and what to do).
PRICE_FAULTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "no-prices": (
            "No prices of your own are set yet.",
            "Prices differ from workshop to workshop and from day to day, so posy has none of its own. They "
            "stand in bench.toml, each with its day and who gave it: posy start --bench writes one to fill "
            "in, posy why bench.toml tells all it may hold.",
        ),
        "price-missing": (
            "Something the piece asks for has no price.",
            "What has no price is left out of the sum and told, never guessed; no quote is made then.",
        ),
        "price-old": (
            "A price is older than you want it.",
            "Metal and stones change their price. How old one may grow is [cost] price-age in bench.toml.",
        ),
        "price-in-the-future": (
            "A price is of a day that is yet to come.",
            "That can only be a slip of the pen, and nobody knows how old the price is.",
        ),
        "price-in-other-currency": (
            "A price is in another currency than the sum.",
            "Sums are of one kind of money: [cost] currency. What another is worth stands in a table as "
            '[exchange.USD] with rate = "0.92 EUR", its day and who gave it.',
        ),
    }
)
