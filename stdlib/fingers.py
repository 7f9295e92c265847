"""Finger sizes to the inside diameter of a ring, in mm.

Each system is one formula or one table; a system is added in SYSTEMS and nowhere else. UK letters have two
conventions that differ by about half a letter: ``uk`` is BS 6820, ``uk-old`` the steps near 1/64 inch that
casting houses still print. Sheets should print the system's title, so that nobody has to guess."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .rows import number, read_rows


@dataclass(frozen=True)
class System:
    """One way to name finger sizes."""

    name: str
    title: str
    lowest: float  # Lowest place on the scale this system accepts
    highest: float  # Highest place on the scale this system accepts
    reach: str  # The range in the system's own words
    lettered: bool
    diameter: Callable[[float], float]
    """Inside diameter, mm, at a place on the scale (letters count from A = 0)."""
    source: str
    step: float = 1.0  # from a size to the next that mandrels and gauges are marked with: whole or half sizes


def size_near(system: str, inside: float) -> str:
    """The marked size of a scale, one of SYSTEMS, nearest to an inside diameter (mm) within its reach, as it
    is written: "us 6 1/2", "uk Z+1"."""
    scale = SYSTEMS[system]
    count = int((scale.highest - scale.lowest) / scale.step)
    places = (scale.lowest + k * scale.step for k in range(count + 1))
    best = min(places, key=lambda place: abs(scale.diameter(place) - inside))
    whole, half = int(best), " 1/2" * (best % 1 == 0.5)
    past = whole - _Z
    letter = f"Z+{past}" if past > 0 else chr(ord("A") + whole)
    return f"{system} {letter if scale.lettered else whole}{half}"


def within_reach(system: str, size: str) -> str:
    """The size at the end of a scale that one past its reach comes nearest to; "" of what is none."""
    scale = SYSTEMS.get(system)
    place = None if scale is None else (_letter_place if scale.lettered else _number_place)(size)
    return "" if scale is None or place is None else size_near(system, scale.diameter(min(place, 99.0)))


_Z = ord("Z") - ord("A")


def inside_diameter(system: str, size: str | float) -> tuple[float | None, str]:
    """Inside diameter in mm of a finger size, or None and the reason in a user's terms.

    ``size`` may be a number or a text such as ``6 1/2``, ``6½``, ``N``, ``N 1/2``, ``Z+1``.
    The text is empty on success."""
    scale = SYSTEMS.get(system)
    if scale is None:
        return None, (
            f"there is no finger size system {_shown(system)}; the systems are {', '.join(SYSTEMS)}"
        )
    place = _letter_place(size) if scale.lettered else _number_place(size)
    if place is None:
        return None, (
            f"{_shown(size)} does not read as a size in {scale.title}; it takes {_FORMS[scale.lettered]}"
        )
    if not scale.lowest <= place <= scale.highest:
        return None, (
            f"size {_shown(size)} is outside {scale.title}, which reaches from {scale.reach}; "
            "check the size, or give the inside circumference in mm as an iso size"
        )
    return scale.diameter(place), ""


def clear_size(said: str) -> str | None:
    """The scale and size that a size without its scale can only mean ("uk M", "iso 54"), or
    None: 7 is a size on two scales."""
    likely = [name for name in SYSTEMS if name != "uk-old"]
    fits = [name for name in likely if inside_diameter(name, said)[0] is not None]
    return f"{fits[0]} {said.upper()}" if len(fits) == 1 else None


def size_hint(said: str) -> str:
    """What to write for a size that names no scale and is clear on none."""
    if length := re.fullmatch(r"([0-9.]+) mm", said):  # round inside, or across
        return f"write iso {length[1]}" if float(length[1]) > _WIDEST else "write inside in place of finger"
    fits = [name for name in ("us", "jp", "iso") if inside_diameter(name, said)[0] is not None]
    if not fits:
        return "write us 7, iso 54, uk N 1/2 or jp 14: the scale, then the size"
    others = "".join(f", or {name} {said} ({SYSTEMS[name].title})" for name in fits[1:])
    return f"write {fits[0]} {said} ({SYSTEMS[fits[0]].title}){others}"


_WIDEST = 30.0  # mm across, that a finger ring is inside
_FORMS = {True: "a letter, as in N, N 1/2 or Z+1", False: "a number, as in 7, 6.5 or 6 1/2"}
_QUARTERS = {"1/4": 0.25, "1/2": 0.5, "3/4": 0.75, "": 0.0}
_SIGNS = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4"}
_FRACTION = r"(?:\s*(1/4|1/2|3/4))?"
# A space must part whole number and fraction, else "61/2" would read as 6 1/2.
_NUMBER = re.compile(r"([0-9]{1,3})(?:(\.[0-9]{1,4})|\s+(1/4|1/2|3/4))?")
_LETTER = re.compile(r"([A-Z])(?:\+([1-9]))?" + _FRACTION)
_LONGEST = 20


def _plain(size: str) -> str:
    """The text with half and quarter signs spelled out; too long a text reads as nothing."""
    if len(size) > _LONGEST:
        return ""
    for sign, spelled in _SIGNS.items():
        size = size.replace(sign, spelled)
    return size.strip()


def _number_place(size: str | float) -> float | None:
    """A numbered size as a figure, or None."""
    if not isinstance(size, str):
        return float(size) if math.isfinite(size) else None
    match = _NUMBER.fullmatch(_plain(size))
    if match is None:
        return None
    whole, decimals, fraction = match.groups()
    return float(whole + (decimals or "")) + _QUARTERS[fraction or ""]


def _letter_place(size: str | float) -> float | None:
    """A lettered size as steps after A, or None; Z+1 is one step after Z."""
    if not isinstance(size, str):
        return None
    match = _LETTER.fullmatch(_plain(size).upper())
    if match is None:
        return None
    letter, beyond, fraction = match.groups()
    if beyond and letter != "Z":
        return None
    return ord(letter) - ord("A") + int(beyond or 0) + _QUARTERS[fraction or ""]


def _shown(size: str | float) -> str:
    """The size as the user wrote it, cut short if need be."""
    if not isinstance(size, str):
        return f"{size:g}"
    return f'"{size}"' if len(size) <= _LONGEST else f'"{size[:_LONGEST]}..."'


def _old_letters() -> tuple[float, ...]:
    """Inside diameters, mm, of the older UK letters A to Z."""
    rows = read_rows("uk-old-letters")
    return tuple(number(row, "diameter") for row in rows)


def _old_diameter(place: float) -> float:
    """Inside diameter, mm, of an older UK letter; half letters lie midway."""
    low = min(int(place), len(_OLD) - 2)
    return _OLD[low] + (place - low) * (_OLD[low + 1] - _OLD[low])


_OLD = _old_letters()

# The ISO stick itself covers 41 to 76; the ends here let in every US size (common practice).
_SYSTEMS = (
    System(
        "iso", "ISO 8653", 36, 80, "36 to 80 (mm of inside circumference)", False,
        lambda place: place / math.pi,
        "ISO 8653: size = inside circumference in mm; ulstandardspdf.com bs-en-iso-8653-2014",
    ),
    System(
        "us", "US and Canadian sizes", 0, 16, "0 to 16", False, lambda place: 11.6332 + 0.8128 * place,
        "0.458 + 0.032 x size, inches; ringsizely.com/how-we-calculate-ring-sizes", 0.5,
    ),
    System(
        "uk", "UK letters by BS 6820", 0, 32, "A to Z+7", True, lambda place: (37.5 + 1.25 * place) / math.pi,
        "BS 6820:1987, circumference 37.5 mm at A and 1.25 mm a letter [from memory]", 0.5,
    ),
    System(
        "uk-old", "UK letters, older steps near 1/64 inch", 0, 25, "A to Z", True, _old_diameter,
        "tables/uk-old-letters.tsv, a casting house's chart", 0.5,
    ),
    System(
        "jp", "Japanese sizes", 1, 30, "1 to 30", False, lambda place: 13.0 + (place - 1.0) / 3.0,
        "13 mm at 1 and 1/3 mm a size; checkringsize.pages.dev/conversion-guide (JIS S 4700 [from memory])",
    ),
)  # fmt: skip

SYSTEMS: Mapping[str, System] = MappingProxyType({system.name: system for system in _SYSTEMS})
"""Finger size systems by the name a file uses."""
