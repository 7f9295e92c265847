"""The printer and its resin: figures of the house, each with what holds without it."""

from __future__ import annotations

from ...lang.lean import dataclass
from .supports import Sizes


@dataclass(frozen=True)
class Printer:
    """``layer`` and ``pixel`` mm; ``plate`` (wide, deep, high) mm; ``slope`` degrees from the level at
    which a face prints by itself; ``least`` mm2 of an overhang that needs props; ``cup`` mm2 of a cup
    that is told; ``shrink`` share that resin and metal lose together; ``seconds`` a layer and
    ``first_seconds`` for each of the ``first_layers``."""

    layer: float = 0.05
    pixel: float = 0.05
    plate: tuple[float, float, float] = (120.0, 68.0, 150.0)
    slope: float = 30.0
    least: float = 0.5
    cup: float = 2.0
    shrink: float = 0.0
    seconds: float = 9.0
    first_layers: int = 5
    first_seconds: float = 45.0
    sizes: Sizes = Sizes()

    @property
    def grows(self) -> float:
        """How much larger it is printed."""
        return 1.0 / (1.0 - self.shrink)

    def minutes(self, layers: int) -> float:
        """Of so many layers."""
        first = min(layers, self.first_layers)
        return (first * self.first_seconds + (layers - first) * self.seconds) / 60.0
