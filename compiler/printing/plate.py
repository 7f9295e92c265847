"""A plate laid out with several prints: in rows, the deepest first, turned where that fits better. mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Floats

GAP = 2.0  # mm between prints


@dataclass(frozen=True)
class Spot:
    """Where the middle of a print stands on the plate, from its corner; ``turned`` by a right angle."""

    x: float
    y: float
    turned: bool


def laid_out(sizes: Sequence[Floats], wide: float, deep: float) -> list[Spot | None]:
    """A place on the plate for each print of ``sizes`` (at least 2,); None for those that find none."""
    found: list[Spot | None] = [None] * len(sizes)
    x = y = row = GAP
    order = sorted(range(len(sizes)), key=lambda k: (-min(sizes[k][:2]), -max(sizes[k][:2]), k))
    for k in order:
        turned = bool(sizes[k][1] > sizes[k][0])
        across, along = np.sort(np.asarray(sizes[k][:2], dtype=float))[::-1].tolist()
        if x + across + GAP > wide:
            x, y = GAP, row
        if x + across + GAP > wide or y + along + GAP > deep:
            continue
        found[k] = Spot(x + across / 2, y + along / 2, turned)
        x, row = x + across + GAP, max(row, y + along + GAP)
    return found
