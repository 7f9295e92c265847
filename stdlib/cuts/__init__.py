"""Stone cuts. CUTS maps trade names to cuts, in the order of tables/cuts.tsv.

A new cut is one row there and one module here, named as the cut with _ for -.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..rows import Row, number, one_of, read_rows, words
from .model import Cut
from .parts import Proportions, Weight

__all__ = ["CUTS", "Cut", "Proportions", "find"]


_SHARES = ("table", "crown", "girdle", "pavilion", "culet", "star", "lower", "corner")
_COLUMNS = [
    *("name", "also", "help", "sizes", "square", "facets", "facets_note", "convex"),
    *("ratio", "ratios", "narrow_ratio", "wall"),
    *_SHARES,
    *("source", "rule", "factors", "at", "weight_source"),
    *("coloured_rule", "coloured_factors", "coloured_source"),
]


def _pair(text: str) -> tuple[float, float]:
    low, high = (float(part) for part in text.split())
    return low, high


def _factors(text: str) -> tuple[tuple[float, float], ...]:
    """Factor rows written ratio:factor ratio:factor."""
    rows = (row.split(":") for row in text.split())
    return tuple((float(ratio), float(factor)) for ratio, factor in rows)


def _weight(row: Row) -> Weight:
    rule = one_of(row, "rule", ("area", "mean"))
    return Weight(rule, _factors(row["factors"]), number(row, "at"), row["weight_source"])


def _coloured(row: Row) -> Weight:
    rule = one_of(row, "coloured_rule", ("area", "mean"))
    return Weight(rule, _factors(row["coloured_factors"]), 1.0, row["coloured_source"])


def _cut(row: Row) -> Cut:
    """One row of the table as a cut."""
    return Cut(
        name=row["name"],
        also=words(row, "also"),
        help=row["help"],
        sizes=int(row["sizes"]),
        square=one_of(row, "square", ("yes", "no")) == "yes",
        facet_count=int(row["facets"]),
        facets_note=row["facets_note"],
        proportions=Proportions(**{share: number(row, share) for share in _SHARES}),
        source=row["source"],
        convex=one_of(row, "convex", ("yes", "no")) == "yes",
        ratio=number(row, "ratio"),
        ratios=_pair(row["ratios"]),
        narrow_ratio=number(row, "narrow_ratio"),
        wall=_pair(row["wall"]),
        weight=_weight(row),
        coloured=_coloured(row),
    )


def _read() -> Mapping[str, Cut]:
    cuts = [_cut(row) for row in read_rows("cuts", _COLUMNS)]
    return MappingProxyType({cut.name: cut for cut in cuts})


CUTS: Mapping[str, Cut] = _read()


def find(name: str) -> Cut | None:
    """The cut called name, by its own name or one it also goes by."""
    for cut in CUTS.values():
        if name == cut.name or name in cut.also:
            return cut
    return None
