"""Figures as a person reads them: honest digits, no more than the figure is worth."""

from __future__ import annotations

from . import values
from .values import ANGLE, LENGTH, MASS, NUMBER, Dimension, Quantity

_UNITS = {LENGTH: "mm", MASS: "g", ANGLE: "deg", NUMBER: ""}
_NAMES = {
    LENGTH: "a length",
    MASS: "a mass",
    ANGLE: "an angle",
    NUMBER: "a plain number",
    Dimension(2): "an area",
    Dimension(3): "a volume",
}


def digits(value: float, places: int = 3) -> str:
    """``value`` with at most ``places`` decimals, or three figures if those would be zero."""
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    if value and abs(value) < 0.5 * 10.0**-places:
        return f"{value:.3g}"
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def unit(dimension: Dimension) -> str:
    """The unit a figure of ``dimension`` is shown in: mm, g, deg, mm2, g/mm3 …"""
    if dimension in _UNITS:
        return _UNITS[dimension]
    above = [_power(name, power) for name, power in _powers(dimension) if power > 0]
    below = [_power(name, -power) for name, power in _powers(dimension) if power < 0]
    return (" ".join(above) or "1") + ("/" + "/".join(below) if below else "")


def _powers(dimension: Dimension) -> list[tuple[str, int]]:
    return [("mm", dimension.length), ("g", dimension.mass), ("deg", dimension.angle)]


def _power(name: str, power: int) -> str:
    if power == 1:
        return name
    small = {2: "²", 3: "³"}
    return name + small.get(power, f"^{power}")


def length(mm: float, places: int = 3) -> str:
    """A length: "0.45 mm"."""
    return f"{digits(mm, places)} mm"


def quantity(figure: Quantity, places: int = 3) -> str:
    """A figure with its unit: "0.45 mm", "40 %", "7"."""
    if figure.share:
        return f"{digits(figure.value * 100, max(1, places - 2))} %"
    name = unit(figure.dimension)
    return f"{digits(figure.value, places)} {name}" if name else digits(figure.value, places)


def apart(left: Quantity, right: Quantity) -> tuple[str, str]:
    """Two figures with as many digits as it takes to tell them apart."""
    for places in (3, 5, 8, 12):
        texts = quantity(left, places), quantity(right, places)
        if texts[0] != texts[1] or left.value == right.value:
            return texts
    return f"{left.value!r}", f"{right.value!r}"


def dimension_name(dimension: Dimension) -> str:
    """What a figure of ``dimension`` is called: "a length", "an area", "mm/g"."""
    return _NAMES.get(dimension) or f"a figure in {unit(dimension)}"


def value_name(value: object) -> str | None:
    """What a value of the language is, with its figure; None for an opaque thing."""
    match value:
        case Quantity(share=True):
            return f"a percentage ({quantity(value)})"
        case Quantity():
            return f"{dimension_name(value.dimension)} ({quantity(value)})"
        case values.Text(text):
            return f'a text ("{text[:30]}")'
        case values.Bare(name):
            return f"the bare name {name}"
        case values.Truth(yes):
            return f"a test ({'true' if yes else 'false'})"
        case values.Size(parts):
            return "a size (" + " x ".join(quantity(part) for part in parts[:4]) + ")"
        case values.Point(parts):
            return "a spot (" + ", ".join(quantity(part) for part in parts) + ")"
        case values.Sequence(members):
            return f"a run of {len(members)}"
    return None
