"""The units a figure may have, and what people write for them."""

from __future__ import annotations

from .faults import Fault, Span
from .suggest import did_you_mean, nearest
from .values import UNITS

KNOWN_UNITS = (*UNITS, "ga", "%")  # the likeliest first

# What people write for a unit, and what we call it.
_WRITTEN = {
    "mm": "millimetre millimeter millimetres millimeters mms swg",
    "in": "inch inches ins",
    "ct": "carat carats cts cara",
    "g": "gram grams gr gm gms",
    "deg": "degree degrees degs",
    "ga": "gauge awg",
    "dwt": "pennyweight pennyweights pwt",
    "ozt": "oz ounce ounces",
    "cm": "centimetre centimeter",
    "%": "pct percent",
}
SHORT = 3  # letters; a slip in so short a word may be meant for anything
_POINTS = frozenset(["pt", "pts", "point", "points"])  # a hundredth of a carat
_OTHER_UNITS = {other: unit for unit, others in _WRITTEN.items() for other in others.split()}


def unit_written(word: str) -> str | None:
    """The unit that a word is, or is written for; None where it is none."""
    plain = word.casefold()
    return _OTHER_UNITS.get(plain) or (plain if plain in KNOWN_UNITS else None)


def unknown_unit(figure: str, unit: str, number: Span, span: Span) -> Fault:
    """The fault for ``unit``, at ``span`` behind the ``figure`` at ``number``, which is none."""
    if unit.casefold() in _POINTS and figure.replace(".", "").isdigit():
        return Fault(
            "unknown-unit", f"'{unit}' is not a unit: 100 points are a carat", number.to(span),
            remedy=f"write {float(figure) / 100:g} ct",
        )
    near = nearest(unit, [one for one in _OTHER_UNITS if len(one) > SHORT])
    known = unit_written(unit) or _OTHER_UNITS.get(near or "")
    remedy = f"write {known}" if known else did_you_mean(unit, KNOWN_UNITS)
    if unit.casefold() in ("um", "µm", "μm", "micron", "microns"):
        remedy = "write thousandths of a mm: 5 microns are 0.005 mm"
    return Fault(
        "unknown-unit", f"'{unit}' is not a unit", span, seen=unit, limit="mm cm in ga deg g ct dwt ozt %",
        remedy=remedy,
    )
