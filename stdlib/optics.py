"""How metals reflect light, for pictures.

Data: ``tables/reflectances.tsv``, a source per row; stones stand in gem_light.py.
Colours are (red, green, blue), linear light, 0 to 1 (sRGB primaries, IEC 61966-2-1)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .alloys import Alloy
from .rows import number, read_rows

Colour = tuple[float, float, float]

_BANDS = "red", "green", "blue"
# The element whose brightness a family of alloys has when polished: common practice, no source;
# bronze and brass are mostly copper.
_CHIEF = {"gold": "Au", "silver": "Ag", "platinum": "Pt", "palladium": "Pd", "bronze": "Cu", "brass": "Cu"}

ONCE = 0.6


@dataclass(frozen=True)
class Constants:
    """Refractive index ``n`` and extinction ``k`` of a metal at a wavelength in nm."""

    wavelength: float
    n: float
    k: float

    @property
    def reflectance(self) -> float:
        """Share of light that a polished face reflects straight back (Fresnel's equations)."""
        return ((self.n - 1) ** 2 + self.k**2) / ((self.n + 1) ** 2 + self.k**2)


def _constants() -> Mapping[str, tuple[Constants, ...]]:
    """Constants in red, green and blue light by element."""
    return MappingProxyType(
        {
            row["metal"]: tuple(
                Constants(*(number(row, f"{band}_{what}") for what in ("nm", "n", "k")))
                for band in _BANDS
            )
            for row in read_rows("reflectances")
        }
    )


CONSTANTS = _constants()
"""(red, green, blue) constants by chemical symbol."""


def reflectance(element: str) -> Colour:
    """What a polished face of a pure metal reflects."""
    red, green, blue = (one.reflectance for one in CONSTANTS[element])
    return red, green, blue


def polished(alloy: Alloy) -> Colour:
    """What a polished face of an alloy reflects: as measured where it is a pure metal; else the
    hue of the table's colour, as bright as the chief metal of its family.

    The table's colour is how a piece looks, lit by itself too: light thrown back more than once.
    ONCE gives the share of that for one reflection; for fine gold, 0.96, 0.73, 0.16 where 0.96,
    0.79, 0.41 was measured."""
    chief = _CHIEF.get(alloy.family)
    if chief and alloy.fineness >= 999:
        return reflectance(chief)
    red, green, blue = (value**ONCE for value in linear(alloy.colour))
    tint = red, green, blue
    bright = max(reflectance(chief)) if chief else 0.8
    scale = bright / max(tint)
    return tint[0] * scale, tint[1] * scale, tint[2] * scale


def linear(colour: str) -> Colour:
    """``#rrggbb`` as linear light (IEC 61966-2-1)."""
    red, green, blue = (_light(int(colour[k : k + 2], 16) / 255.0) for k in (1, 3, 5))
    return red, green, blue


def _light(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
