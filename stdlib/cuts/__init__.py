"""Stone cuts. CUTS maps trade names to cuts, in the order of tables/cuts.tsv.

A new cut is one row there and one module here, named as the cut with _ for -."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from ..rows import Row, by_name, number, one_of
from . import tablet
from .model import Cut
from .parts import Proportions, Weight

__all__ = ["CUTS", "Cut", "Proportions", "as_deep", "find"]


_SHARES = "table", "crown", "girdle", "pavilion", "culet", "star", "lower", "corner"
def _pair(text: str) -> tuple[float, float]:
    low, high = (float(part) for part in text.split())
    return low, high


def _factors(text: str) -> tuple[tuple[float, float], ...]:
    """Factor rows written ratio:factor ratio:factor."""
    rows = (row.split(":") for row in text.split())
    return tuple((float(ratio), float(factor)) for ratio, factor in rows)


def _weight(row: Row, of: str = "") -> Weight:
    """How a cut is weighed, by the columns that begin with ``of``."""
    rule, at = one_of(row, f"{of}rule", ("area", "mean")), 1.0 if of else number(row, "at")
    return Weight(rule, _factors(row[f"{of}factors"]), at, row[f"{of}source" if of else "weight_source"])


class _Cuts(dict[str, Cut]):
    """Cuts by name; ``NAME@SHARE`` is a cut whose depth was measured (see ``as_deep``), ``NAME-tablet`` and
    ``NAME-dome`` a flat and a domed stone of its outline (see ``tablet``), ``outline/SPOTS`` one of an
    outline of one's own (see ``outline``)."""

    def __missing__(self, name: str) -> Cut:
        return _made(name)


@lru_cache(maxsize=256)
def _made(name: str) -> Cut:
    base, *said = name.split("@")
    figures = [float(share) for share in said]
    if base.endswith(tablet.NAME):
        return tablet.flat(CUTS[base.removesuffix(tablet.NAME)], figures)
    if base.endswith(tablet.DOME):
        cut = tablet.domed(CUTS[base.removesuffix(tablet.DOME)], CUTS["cabochon"])
    elif base.startswith(tablet.OWN):
        cut = replace(CUTS["hexagon"], name=base, also=(), ratios=(0.1, 10.0))
    elif figures:
        cut = CUTS[base]
    else:
        raise KeyError(name)
    if not figures:
        return cut
    (figure,), kept = figures, cut.proportions
    if kept.pavilion > 0:
        return replace(cut, proportions=replace(kept, pavilion=figure))
    return replace(cut, proportions=replace(kept, crown=figure))


def as_deep(cut: Cut, length: float, width: float, deep: float) -> str:
    """The name of ``cut`` as a stone of this size that is ``deep`` mm from table to culet: its
    pavilion takes the difference (of a flat-backed one, its dome).

    Raises ValueError where no such stone is cut: under half (of an own outline or a dome a quarter) or over
    1.6 times the usual depth."""
    usual, p = cut.total_depth(length, width), cut.proportions
    least = 0.25 if cut.plain else 0.5
    share = (p.pavilion or p.crown) + (deep - usual) / width
    if not least * usual <= deep <= 1.6 * usual or share <= 0.02:
        raise ValueError(f"from {least * usual:.2f} mm to {1.6 * usual:.2f} mm")
    return f"{cut.name}@{share:.6f}"


_PAIRS = {name: (lambda row, name=name: _pair(row[name])) for name in ("ratios", "wall")}

CUTS: Mapping[str, Cut] = MappingProxyType(
    _Cuts(
        by_name(
            "cuts", Cut, facet_count=lambda row: int(row["facets"]), **_PAIRS, weight=_weight,
            proportions=lambda row: Proportions(**{share: number(row, share) for share in _SHARES}),
            coloured=lambda row: _weight(row, "coloured_"),
        )
    )
)  # fmt: skip


def find(name: str) -> Cut | None:
    """The cut called name, by its own name or one it also goes by."""
    for cut in CUTS.values():
        if name == cut.name or name in cut.also:
            return cut
    return None
