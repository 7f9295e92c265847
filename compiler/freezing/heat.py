"""What metal and mould do with heat, as the freezing reckons with them."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from ...lang.lean import dataclass
from ..measures.kinds import Floats

NARROW = 1.0  # K: a metal that melts at one temperature is given this range


@dataclass(frozen=True)
class Melt:
    """A metal near its freezing. ``conductivity`` W/(mm K), ``density`` g/mm3, heats per gram:
    ``heat_solid`` and ``heat_liquid`` J/(g K), ``latent`` J/g given off evenly from ``liquidus`` down
    to ``solidus``, deg C."""

    conductivity: float
    density: float
    heat_solid: float
    heat_liquid: float
    latent: float
    solidus: float
    liquidus: float

    @cached_property
    def range(self) -> float:
        """From liquidus to solidus, K; never nothing."""
        return max(self.liquidus - self.solidus, NARROW)

    @cached_property
    def slopes(self) -> tuple[float, float, float]:
        """Heat to warm it by a degree when solid, freezing and liquid, J/(mm3 K)."""
        between = (self.heat_solid + self.heat_liquid) / 2 + self.latent / self.range
        return tuple(self.density * heat for heat in (self.heat_solid, between, self.heat_liquid))  # type: ignore[return-value]

    def warmth(self, temperature: Floats | float) -> Floats:
        """Heat above that at the solidus, J/mm3, of metal at a temperature."""
        solid, between, liquid = self.slopes
        above = np.asarray(temperature) - self.solidus
        part = np.clip(above, 0.0, self.range)
        return np.asarray(np.minimum(above, 0.0) * solid + part * between + (above - part) * liquid * (above > 0))

    @cached_property
    def liquidus_kept(self) -> float:
        """The liquidus, at least NARROW above the solidus."""
        return self.solidus + self.range


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

    ``share`` is how much of the metal must be frozen. Insulating mould, flat wall, metal even in
    temperature: D. R. Askeland, P. P. Phule, Essentials of Materials Science and Engineering (2004);
    N. Chvorinov (1940).
    """
    heat = melt.latent * share + melt.heat_liquid * max(pour.metal - melt.liquidus_kept, 0.0)
    heat += (melt.heat_solid + melt.heat_liquid) / 2 * melt.range * share
    drop = melt.liquidus_kept - melt.range / 2 * share - pour.mould
    effusion = mould.conductivity * mould.capacity
    return math.pi / 4 * (melt.density * heat / max(drop, 1.0)) ** 2 / effusion
