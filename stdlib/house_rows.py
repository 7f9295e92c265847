"""What a workshop may say in its bench.toml: every table of it and every key, a row each.

Data: ``tables/house.tsv``; the columns are told there. The figures of the bench rules are rows too, made from
``tables/limits.tsv``. Whoever reads a new key adds its row and asks the house for it by table and key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from .limits import limits_of
from .rows import records

NEEDED = "needed"
LEVELS = "fault", "warning", "hint", "off"
# A figure of a rule further from the table's than this many times is taken for a slip.
ABSURD = 20.0


@dataclass(frozen=True)
class HouseRow:
    """One key: in which table, of what kind, between what figures, and what it is for.

    ``table`` ends in a word in capitals where a name stands: NEW (one of the house's own), METAL or
    GEM (posy's or the house's own), FAMILY, KIND (a family or any), CURRENCY, ANY. ``kind`` is told
    in tables/house.tsv. ``usual`` is what holds without it as it would be written, ``needed`` where
    nothing does."""

    table: str
    key: str
    kind: str
    least: float | None
    most: float | None
    usual: str
    like: str
    says: str
    source: str
    slip: bool = False
    """Whether the bounds are only there to catch a slip of the pen; nothing at all passes then."""


@cache
def house_rows() -> Mapping[str, Mapping[str, HouseRow]]:
    """Rows by table, as in ``metal.NEW``, and key; the keys of no table under ``""``."""
    found: dict[str, dict[str, HouseRow]] = {}
    for row in records("house", HouseRow):
        found.setdefault(row.table, {})[row.key] = row
    return found


def named_tables() -> Mapping[str, str]:
    """The tables that a name follows, each with the kind of name: {"metal": "NEW", ...}."""
    return {head: kind for head, _, kind in (table.rpartition(".") for table in house_rows()) if head}


@cache
def rule_rows(rule: str) -> Mapping[str, HouseRow]:
    """What a workshop may say of one bench rule: its figures, and its level."""
    found: dict[str, HouseRow] = {}
    for row in limits_of(rule):
        usual = [one.figure for one in limits_of(rule) if one.what == row.what and one.figure > 0]
        low, high = (min(usual) / ABSURD, max(usual) * ABSURD) if usual else (0.0, None)
        found.setdefault(row.what, HouseRow(
            rule, row.what, row.unit, low, high, f"{row.figure:g}", "", "", row.source, slip=True,
        ))  # fmt: skip
    level = f"one of {'|'.join(LEVELS)}"
    return found | {"level": HouseRow(rule, "level", level, None, None, "", "", "", "")}

