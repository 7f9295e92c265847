"""Arithmetic on figures with their dimensions.

Every operation gives ``(figure, None)`` or ``(None, trouble)``; nothing here knows of spans."""

from __future__ import annotations

import math
from typing import NamedTuple

from .shown import dimension_name, quantity, value_name
from .values import LENGTH, NUMBER, UNITS, Dimension, Quantity

# Comparisons ignore differences under one part in this many.
CLOSE = 1e-9


class Trouble(NamedTuple):
    """What went wrong in a piece of arithmetic: a code, a message, what to try."""

    code: str
    message: str
    remedy: str | None = None


Result = tuple[Quantity, None] | tuple[None, Trouble]


def wire_gauge(number: float) -> float:
    """Diameter in mm of Brown & Sharpe (American) wire gauge ``number``.

    ASTM B258: 0.005 inch x 92^((36 - n) / 39). 0 is gauge 0; 00 and up are not written."""
    return 0.127 * 92.0 ** ((36.0 - number) / 39.0)


def with_unit(value: float, unit: str | None) -> Result:
    """The figure ``value unit`` in base units; ``unit`` None is a plain number."""
    if unit is None:
        return Quantity(value), None
    if unit == "%":
        return Quantity(value / 100.0, NUMBER, True), None
    if unit == "ga":
        if not (0 <= value <= 50 and value == int(value)):
            remedy = "wire gauges are whole numbers from 0 to 50; or write the size in mm"
            if 0 <= value <= 50:
                remedy = f"write {int(value)} ga or {int(value) + 1} ga, or the size in mm"
            return None, Trouble("gauge-range", f"there is no wire gauge {value:g}", remedy)
        return Quantity(wire_gauge(value), LENGTH), None
    dimension, factor = UNITS[unit]
    return Quantity(value * factor, dimension), None


def _finite(value: float, dimension: Dimension, share: bool = False) -> Result:
    if not math.isfinite(value) or abs(value) > 1e30:
        return None, Trouble(
            "number-too-large", "this figure grows too large", "see whether a * or a unit is meant otherwise",
        )
    return Quantity(value, dimension, share), None


def add(left: Quantity, right: Quantity, sign: float) -> Result:
    """``left + right`` (sign 1) or ``left - right`` (sign -1)."""
    value = left.value + sign * right.value
    if left.dimension == right.dimension and left.share == right.share:
        return _finite(value, left.dimension, left.share)
    # Zero needs no unit.
    if _bare_zero(left):
        return _finite(value, right.dimension, right.share)
    if _bare_zero(right):
        return _finite(value, left.dimension, left.share)
    return None, mismatch("plus" if sign > 0 else "minus", left, right)


def mismatch(verb: str, left: Quantity, right: Quantity) -> Trouble:
    """The trouble with joining figures of two dimensions."""
    message = f"{value_name(left)} {verb} {value_name(right)} makes no sense"
    for figure, other in ((left, right), (right, left)):
        if figure.share:
            return Trouble("dimension", message, f"say of what: multiply, as in {quantity(figure)} * …")
        if figure.dimension == NUMBER and other.dimension == LENGTH:
            return Trouble("unit-missing", message, f"add mm: {quantity(figure)} mm")
    return Trouble("dimension", message, "both have to be of one kind, as 2 mm and 3 mm are")


def multiply(left: Quantity, right: Quantity) -> Result:
    """``left * right``; a share of a share or of a number is a share."""
    if right.dimension == NUMBER:
        dimension = left.dimension
    elif left.dimension == NUMBER:
        dimension = right.dimension
    else:
        both = zip(left.dimension, right.dimension, strict=True)
        dimension = Dimension(*(a + b for a, b in both))
    share = (left.share or right.share) and dimension == NUMBER
    return _finite(left.value * right.value, dimension, share)


def divide(left: Quantity, right: Quantity) -> Result:
    """``left / right``; a share by a number is a share."""
    if right.value == 0:
        return None, Trouble(
            "divided-by-zero", f"{quantity(left)} is divided by zero", "see which figure comes to zero here",
        )
    dimension = left.dimension
    if right.dimension != NUMBER:
        both = zip(left.dimension, right.dimension, strict=True)
        dimension = Dimension(*(a - b for a, b in both))
    share = left.share and not right.share and dimension == NUMBER
    return _finite(left.value / right.value, dimension, share)


def negative(figure: Quantity) -> Quantity:
    """``- figure``."""
    return Quantity(-figure.value, figure.dimension, figure.share)


def order(left: float, right: float) -> int:
    """-1, 0 or 1, where figures within one part in 10⁹ count as the same."""
    if abs(left - right) <= CLOSE * max(abs(left), abs(right)):
        return 0
    return -1 if left < right else 1


def comparable(left: Quantity, right: Quantity) -> bool:
    """Whether two figures can be compared: same dimension, or one a bare zero."""
    if left.dimension == right.dimension and left.share == right.share:
        return True
    return _bare_zero(left) or _bare_zero(right)


def _bare_zero(figure: Quantity) -> bool:
    return figure.value == 0 and figure.dimension == NUMBER and not figure.share


def named(figure: Quantity) -> str:
    """ "a length", "a percentage" …: what the figure is, without its value."""
    return "a percentage" if figure.share else dimension_name(figure.dimension)
