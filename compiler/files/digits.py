"""Figures with as many digits as are known, and no more."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal


def places(error: float, most: int = 3) -> int:
    """Decimals to show of a figure that may be off by ``error``: up to its first digit."""
    if not error > 0.0:
        return most
    return max(0, min(most, math.ceil(-math.log10(error) - 1e-9)))


def honest(value: float, error: float = 0.0, most: int = 3) -> float:
    """``value`` rounded to the digits ``error`` leaves it, never minus zero."""
    return round(float(value), places(error, most)) + 0.0


def bound(error: float) -> float:
    """``error`` to two digits, rounded up, so that it stays a bound."""
    if not error > 0.0:
        return 0.0
    decimals = 1 - math.floor(math.log10(error))
    return round(math.ceil(error * 10.0**decimals - 1e-9) / 10.0**decimals, max(decimals, 0))


def shown(value: float, error: float = 0.0, most: int = 3) -> str:
    """``value`` as text with honest decimals, trailing zeros kept: 4.210 g was weighed so."""
    decimals = places(error, most)
    return f"{round(float(value), decimals) + 0.0:.{decimals}f}"


def plain(value: float, most: int = 4) -> str:
    """``value`` as text with at most ``most`` decimals and no trailing zeros: 2.5, 21."""
    text = f"{round(float(value), most) + 0.0:.{most}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def grams(figure: float) -> str:
    """A weight as sheets show it and reckon with it: to 0.01 g; below 0.1 g to 0.001 g."""
    return f"{Decimal(repr(float(figure))).quantize(Decimal('0.01' if figure >= 0.1 else '0.001')):f}"


def rounded(figures: Iterable[float], most: int = 3) -> list[float]:
    """Figures of a place or a size to ``most`` decimals, none of them minus zero."""
    return [round(float(value), most) + 0.0 for value in figures]


def measure(value: float | str, unit: str) -> str:
    """A measure of the text as people read it: 2.5 mm, 12 %, "Anna"."""
    if isinstance(value, str):
        return f'"{value}"'
    return f"{plain(value * 100)} %" if unit == "share" else f"{plain(value)} {unit}".rstrip()
