"""Values of the language and their dimensions. Base units: mm, g, degrees, plain numbers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


class Dimension(NamedTuple):
    """Powers of length, mass and angle: (1, 0, 0) is a length, (0, 0, 0) a number."""

    length: int = 0
    mass: int = 0
    angle: int = 0


NUMBER = Dimension()
LENGTH = Dimension(length=1)
MASS = Dimension(mass=1)
ANGLE = Dimension(angle=1)

# unit -> (dimension, factor to the base unit), exactly. `ga` is not a factor: see wire_gauge.
# in: 25.4 mm, and dwt and ozt: 24 and 480 grains of 64.79891 mg, by the international yard and
# pound agreement of 1959. ct: the metric carat of 200 mg (4th CGPM, 1907).
UNITS: dict[str, tuple[Dimension, float]] = {
    "mm": (LENGTH, 1.0),
    "cm": (LENGTH, 10.0),
    "in": (LENGTH, 25.4),
    "deg": (ANGLE, 1.0),
    "g": (MASS, 1.0),
    "ct": (MASS, 0.2),
    "dwt": (MASS, 1.55517384),
    "ozt": (MASS, 31.1034768),
}


def factors_to(dimension: Dimension) -> dict[str, float]:
    """The units of ``dimension`` and their factors to its base unit: {"mm": 1.0, ...}."""
    return {unit: factor for unit, (of, factor) in UNITS.items() if of == dimension}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure with its dimension, in base units. ``share`` marks a percentage."""

    value: float
    dimension: Dimension = NUMBER
    share: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """A quoted text."""

    text: str


@dataclass(frozen=True, slots=True)
class Bare:
    """A bare name that stands for itself (garnet, silver-925, flat)."""

    name: str


@dataclass(frozen=True, slots=True)
class Truth:
    """The outcome of a comparison."""

    yes: bool


@dataclass(frozen=True, slots=True)
class Size:
    """Members joined by `x`: 21 x 4.8 x 2.2 mm."""

    parts: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """(right, up) or (right, up, out)."""

    parts: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class Sequence:
    """Members joined by `to` or `over`, or choices joined by `and`; ``joints`` has one fewer than
    ``members``."""

    members: tuple[object, ...]
    joints: tuple[str, ...]


def joined_by_and(values: Iterable[object]) -> Sequence:
    """Several choices as one value; one that is several already counts as its members."""
    each = (value.members if isinstance(value, Sequence) else (value,) for value in values)
    members = [one for several in each for one in several]
    return Sequence(tuple(members), ("and",) * (len(members) - 1))


@dataclass(frozen=True, slots=True)
class Broken:
    """A value whose making failed and was reported; whatever uses it stays silent."""


BROKEN = Broken()

# Checked stone size given by weight (Kind.STONE_SIZE): a float in g wrapped to tell it from mm.
@dataclass(frozen=True, slots=True)
class ByWeight:
    """A stone asked for by weight, in grams (0.2 g = 1 ct)."""

    grams: float


# Checked length that may be said as an angle (Take.by_angle), told from mm.
@dataclass(frozen=True, slots=True)
class ByAngle:
    """A length given by the angle it is seen under, degrees."""

    degrees: float


# Checked stone sizes of a graded row (Kind.STONE_SIZE): joined by `to`.
@dataclass(frozen=True, slots=True)
class Graded:
    """Stone sizes from one end of a row to the other; each a tuple of mm or a ByWeight."""

    members: tuple[object, ...]
