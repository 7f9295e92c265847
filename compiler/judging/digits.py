"""How rules show their figures: honest digits after the point, a unit, no noise."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

from .bound import Bound

# Figures nearer a limit than this are at the limit: sums of decimal figures are not exact.
NEAR = 1e-6
PAST = 1.01
# At a limit of a table is also what nobody can tell from it: half of the last digit that limits of a unit are
# told with, and no more than so much of the limit, which facets and a scale of weights are off by:
# house choice, no source.
HALF_DIGIT = {"mm": 0.005, "mm2": 0.005, "mm3": 0.005, "g": 0.05, "deg": 0.5, "ratio": 0.005, "share": 0.005}
OFF = 0.02


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


def slack(bound: float) -> float:
    """How far past a limit a figure is at it still, in the unit of both."""
    half = HALF_DIGIT.get(bound.limit.unit, 0.0) if isinstance(bound, Bound) else 0.0
    return max(min(half, OFF * abs(bound)), NEAR)


def below(figure: float, bound: float) -> bool:
    """Whether a figure lies truly under its limit."""
    return figure < bound - slack(bound)


def above(figure: float, bound: float) -> bool:
    """Whether a figure lies truly over its limit."""
    return figure > bound + slack(bound)


def rounded_up(value: float) -> str:
    """A length for a text, never below ``value``: hundredths of a mm."""
    return f"{math.ceil(value * 100 - NEAR) / 100:.2f} mm"


def rounded_down(value: float) -> str:
    """A length for a text, never above ``value``: hundredths of a mm."""
    return f"{math.floor(value * 100 + NEAR) / 100:.2f} mm"


def rounded_past(value: float) -> str:
    """How far to move something, hundredths of a mm, a little more than ``value``: on a face that is round a
    move gains a little less than it goes."""
    return rounded_up(PAST * value)


def unlike(one: float, two: float) -> tuple[str, str]:
    """Two figures in two places, or in as many more as tell them apart."""
    pairs = [(f"{one:.{digits}g}", f"{two:.{digits}g}") for digits in range(2, 6)]
    return next((pair for pair in pairs if pair[0] != pair[1]), pairs[0])


def told_apart(seen: str, limit: str, figure: float, bound: float) -> tuple[str, str]:
    """Figure and limit as shown, with more places where they would read alike and are not."""
    for scale in (1.0, 100.0):  # as it is, and as a percentage
        for digits in (2, 1, 0):
            one, two = (_plain(scale * value, digits) for value in (figure, bound))
            if one == two and _has(seen, one) and _has(limit, one):
                return _apart(seen, limit, one, scale * figure, scale * bound, digits)
    return seen, limit


def _apart(seen: str, limit: str, shown: str, figure: float, bound: float, digits: int) -> tuple[str, str]:
    for more in range(digits + 1, digits + 5):
        one, two = _plain(figure, more), _plain(bound, more)
        if one != two:
            number = _number(shown)
            return number.sub(one, seen, count=1), number.sub(two, limit, count=1)
    return seen, limit


def _has(text: str, shown: str) -> bool:
    return _number(shown).search(text) is not None


def _number(shown: str) -> re.Pattern[str]:
    """A figure as it stands in a text, and not as a part of another."""
    return re.compile(rf"(?<![\d.]){re.escape(shown)}(?!\d|\.\d)")


def place(point: Iterable[Any]) -> tuple[float, float, float]:
    """A place in mm, to a thousandth."""
    x, y, z = (round(float(value), 3) + 0.0 for value in point)
    return (x, y, z)


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text[1:] if float(text) == 0 and text.startswith("-") else text
