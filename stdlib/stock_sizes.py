"""Sizes in which stones of a cut are sold."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache

from .rows import read_rows

Size = tuple[float, ...]


@cache
def stock_sizes() -> Mapping[str, tuple[Size, ...]]:
    """The sizes of each cut, mm: (across,) or (length, width)."""
    return {
        row["cut"]: tuple(
            tuple(float(part) for part in size.split(" x ")) for size in row["sizes"].split(", ")
        )
        for row in read_rows("stock-sizes")
    }


def next_size(cut: str, wanted: Sequence[float]) -> Size:
    """The size sold that is nearest to ``wanted`` (mm), the larger of two as near; where the cut is
    not in the table, hundredths of a mm."""
    sizes = [size for size in stock_sizes().get(cut, ()) if len(size) == len(wanted)]
    if not sizes and len(wanted) == 1:  # the first figure of two, the other goes by it
        sizes = [size[:1] for size in stock_sizes().get(cut, ())]
    if not sizes:
        return tuple(round(figure, 2) for figure in wanted)
    return min(sizes, key=lambda size: (round(math.dist(size, wanted), 6), -size[0]))
