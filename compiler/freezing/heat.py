"""What metal and mould do with heat, as the freezing takes them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..measures.kinds import Floats

NARROW = 1.0  # K: a metal that melts at one temperature is given this range


@dataclass(frozen=True)
class Melt:
    """A metal near its freezing. ``conductivity`` W/(mm K), ``density`` g/mm3, heats per gram: ``heat_solid``
    and ``heat_liquid`` J/(g K), ``latent`` J/g, of which the share ``ending`` is given off at the ``solidus``
    (the last liquid freezes at one temperature) and the rest evenly from ``liquidus`` down to it, deg C."""

    conductivity: float
    density: float
    heat_solid: float
    heat_liquid: float
    latent: float
    solidus: float
    liquidus: float
    ending: float = 0.0

    @cached_property
    def knots(self) -> tuple[Floats, Floats]:
        """Where the curve of heat bends from solidus to liquidus: deg C, and heat over the solidus, J/mm3."""
        wide = max(self.liquidus - self.solidus, NARROW)
        mean = (self.heat_solid + self.heat_liquid) / 2
        over = [NARROW, wide - NARROW] if self.ending and wide > 2 * NARROW else [wide]
        parts = [self.ending, 1 - self.ending] if len(over) == 2 else [1.0]
        rise = [0.0, *(self.latent * part + mean * span for part, span in zip(parts, over, strict=True))]
        return self.solidus + np.cumsum([0.0, *over]), self.density * np.cumsum(rise)

    @property
    def top(self) -> float:
        """Where freezing begins: the liquidus, at least NARROW above the solidus, deg C."""
        return float(self.knots[0][-1])

    def warmth(self, temperature: Floats | float) -> Floats:
        """Heat above that at the solidus, J/mm3, of metal at a temperature."""
        at, heat = self.knots
        beyond = np.asarray(temperature) - np.clip(temperature, at[0], at[-1])
        slope = np.where(beyond < 0, self.heat_solid, self.heat_liquid)
        return np.asarray(np.interp(temperature, at, heat) + self.density * slope * beyond)


@dataclass(frozen=True)
class Mould:
    """Investment: ``conductivity`` W/(mm K), ``capacity`` J/(mm3 K)."""

    conductivity: float
    capacity: float

    @property
    def spread(self) -> float:
        """How fast heat spreads in it, mm2/s."""
        return self.conductivity / self.capacity


@dataclass(frozen=True)
class Pour:
    """Temperatures when the mould is full, deg C."""

    metal: float
    mould: float


def chvorinov(melt: Melt, mould: Mould, pour: Pour, share: float = 1.0) -> float:
    """The constant of Chvorinov's rule, s/mm2: time to freeze over modulus squared.

    ``share`` is how much of the heat from liquidus to solidus must be gone. Insulating mould, flat
    wall, metal even in temperature: D. R. Askeland, P. P. Phule, Essentials of Materials Science and
    Engineering (2004); N. Chvorinov (1940)."""
    at, heats = melt.knots
    heat = heats[-1] * share + melt.density * melt.heat_liquid * max(pour.metal - melt.top, 0.0)
    drop = (melt.top + float(np.interp(heats[-1] * (1 - share), heats, at))) / 2 - pour.mould
    effusion = mould.conductivity * mould.capacity
    return math.pi / 4 * (heat / max(drop, 1.0)) ** 2 / effusion
