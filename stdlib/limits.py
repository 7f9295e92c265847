"""Bench limits and shop allowances: figures that rules and sheets go by.

Data: ``tables/limits.tsv``, ``tables/allowances.tsv`` and ``tables/prongs.tsv``, a source
per row. A figure is kept per metal family where families differ; ``*`` stands for all.
House figures from ``bench.toml`` are laid over these by the compiler."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from .alloys import FAMILIES
from .rows import number, read_rows, records, unrepeated

ANY = "*"
"""The family that stands for every metal."""

UNITS = "mm", "mm2", "mm3", "g", "g/cm3", "deg", "count", "mohs", "ratio", "share"
"""Units of figures; a share is of one, a ratio is times."""


@dataclass(frozen=True)
class Limit:
    """One figure and where it comes from."""

    figure: float
    unit: str
    source: str
    rule: str = ""  # The rule it belongs to; empty for an allowance
    what: str = ""
    family: str = ANY  # The family the row is for, ``*`` for all


def limit(rule: str, what: str, family: str = ANY) -> Limit:
    """The limit of a rule for a metal family; the family's own row wins over ``*``.

    Raises KeyError when the table has no such row, or no such family: a bug of ours."""
    return _pick(LIMITS, rule, what, family)


def allowance(what: str, family: str = ANY) -> Limit:
    """A shop allowance such as ``shrink`` for a metal family. Raises KeyError as limit."""
    return _pick(ALLOWANCES, "", what, family)


def limits_of(rule: str) -> tuple[Limit, ...]:
    """Every row of one rule, in table order; none for an unknown rule."""
    return tuple(row for row in LIMITS.values() if row.rule == rule)


def rules() -> tuple[str, ...]:
    """The names of the rules that have limits, in table order."""
    return tuple(dict.fromkeys(row.rule for row in LIMITS.values()))


def prong_wire(stone: float, family: str = ANY, prongs: int = 4) -> float:
    """Usual prong wire, mm, for a round stone of ``stone`` mm.

    Straight lines between the rows of tables/prongs.tsv, held level beyond its ends; six
    prongs or more are finer. Common practice, no published table found."""
    factor = allowance("prong-wire", family).figure
    if prongs >= 6:
        factor *= allowance("prong-wire-six", family).figure
    return factor * _along(_PRONGS, stone)


def _along(points: tuple[tuple[float, float], ...], at: float) -> float:
    """Height of a broken line at ``at``, level beyond its ends."""
    at = min(max(at, points[0][0]), points[-1][0])
    for (x0, y0), (x1, y1) in pairwise(points):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


_Table = Mapping[tuple[str, str, str], Limit]


def _pick(table: _Table, rule: str, what: str, family: str) -> Limit:
    """The family's own row, or the row for all."""
    if family not in (ANY, *FAMILIES):
        raise KeyError(f"no metal family {family!r}")
    found = table.get((rule, what, family)) or table.get((rule, what, ANY))
    if found is None:
        raise KeyError(f"no figure {what!r} of {rule or 'the allowances'!r} for {family!r}")
    return found


def _by_key(table: str) -> _Table:
    """A table of figures by (rule, what, family), in table order."""
    found = records(table, Limit, unit=UNITS, family=(ANY, *FAMILIES))
    unrepeated(table, (f"{row.rule} {row.what} {row.family}" for row in found))
    return MappingProxyType({(row.rule, row.what, row.family): row for row in found})


def _prongs() -> tuple[tuple[float, float], ...]:
    """(stone, wire) in mm, by rising stone."""
    rows = read_rows("prongs")
    return tuple(sorted((number(row, "stone"), number(row, "wire")) for row in rows))


LIMITS: _Table = _by_key("limits")
"""Bench limits by (rule, what, family), in table order."""

ALLOWANCES: _Table = _by_key("allowances")
"""Shop allowances by ("", what, family), in table order."""

_PRONGS = _prongs()
