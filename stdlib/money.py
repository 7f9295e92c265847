"""Money: amounts in the currencies of ISO 4217, exact to the last digit.

Data: ``tables/currencies.tsv``."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import NamedTuple

from .rows import read_rows


class Money(NamedTuple):
    """An amount in a currency (its code in ISO 4217, as in EUR)."""

    amount: Decimal
    currency: str

    @property
    def shown(self) -> str:
        """The amount with the digits its currency has, and the code: "1,250.00 EUR"."""
        return f"{rounded(self.amount, self.currency):,} {self.currency}"


@cache
def currencies() -> Mapping[str, int]:
    """Code of each currency -> digits of its smallest unit behind the point."""
    return {code: int(row["digits"]) for row in read_rows("currencies") for code in row["codes"].split(" ")}


def rounded(amount: Decimal, currency: str) -> Decimal:
    """An amount to the smallest unit of its currency, halves away from nothing."""
    return amount.quantize(Decimal(1).scaleb(-currencies()[currency]), ROUND_HALF_UP)
