"""The printer and its resin: figures of the house ([printer] of bench.toml), each with what is usual."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..house.house import NO_HOUSE, House
from ..measures.kinds import Floats
from .supports import Sizes


@dataclass(frozen=True, eq=False)
class Printer:
    """``layer`` and ``pixel`` mm; ``room`` (3,) mm on the plate and above; ``slope`` degrees from the
    level at which a face prints by itself; ``overhang`` mm2 of one that needs no props; ``grows`` (3,)
    how much larger it is printed, along the plate and up; ``seconds`` a layer and ``first_seconds``
    each of the ``first_layers``; ``bar`` mm of a bar to measure the scale by, 0 for none; ``ball`` mm: up
    to as wide as that a ball is fine work."""

    layer: float
    pixel: float
    room: Floats
    slope: float
    overhang: float
    grows: Floats
    seconds: float
    first_layers: int
    first_seconds: float
    bar: float
    ball: float
    sizes: Sizes

    def minutes(self, layers: int) -> float:
        """Of so many layers."""
        first = min(layers, self.first_layers)
        return (first * self.first_seconds + (layers - first) * self.seconds) / 60.0


def printer_of(house: House = NO_HOUSE) -> Printer:
    """The printer of a house."""

    def said(key: str) -> float:
        return float(house.value("printer", key))

    across, up, metal = (1.0 - said(f"shrink-{what}") for what in ("across", "up", "metal"))
    return Printer(
        said("layer"), said("pixel"), np.array([said(key) for key in ("wide", "deep", "tall")]),
        said("slope"), said("overhang"), 1.0 / (np.array((across, across, up)) * metal),
        said("seconds"), int(said("first-layers")), said("first-seconds"), said("bar"), said("ball"),
        Sizes(*(said(key) for key in ("tip", "column", "cone", "foot", "apart", "lift", "bite"))),
    )  # fmt: skip
