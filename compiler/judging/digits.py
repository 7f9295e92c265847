"""How rules show their figures: honest digits after the point, a unit, no noise."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

# Figures nearer a limit than this are at the limit: sums of decimal figures are not exact.
NEAR = 1e-6


def mm(value: float) -> str:
    """A length, to 0.01 mm."""
    return f"{_plain(value, 2)} mm"


def share(value: float) -> str:
    """A share of one, as a percentage."""
    return f"{_plain(100 * value, 0)} %"


def times(value: float) -> str:
    """A ratio."""
    return f"{_plain(value, 2)} times"


def least(value: str) -> str:
    """A lower limit."""
    return f"{value} or more"


def most(value: str) -> str:
    """An upper limit."""
    return f"{value} or less"


def below(figure: float, bound: float) -> bool:
    """Whether a figure lies truly under its limit."""
    return figure < bound - NEAR


def above(figure: float, bound: float) -> bool:
    """Whether a figure lies truly over its limit."""
    return figure > bound + NEAR


def rounded_up(value: float) -> str:
    """A length for a text, never below ``value``: hundredths of a mm."""
    return f"{math.ceil(value * 100 - NEAR) / 100:.2f} mm"


def rounded_down(value: float) -> str:
    """A length for a text, never above ``value``: hundredths of a mm."""
    return f"{math.floor(value * 100 + NEAR) / 100:.2f} mm"


def place(point: Iterable[Any]) -> tuple[float, float, float]:
    """A place in mm, to a thousandth."""
    x, y, z = (round(float(value), 3) + 0.0 for value in point)
    return (x, y, z)


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text[1:] if float(text) == 0 and text.startswith("-") else text
