"""Bench rules: a row each in stdlib/tables/rules.tsv, which names the module that looks for it. See
judging.rule.Rule.

To add a rule: write ``my_rule.py`` with a function ``check``, here if it looks at the plan (a second one,
``on_metal``, sees the metal too), else in ``metal`` or ``cast``; one of the metal that tells something of the
plan alone has that in ``ahead``, and stands here. Rules much alike share a module, their checks called after
them (``my_rule``, ``my_rule_on_metal``). A check yields readings: rows of figure-rules.tsv hold them against
the limits of limits.tsv and say how they are told; where it yields a verdict, that is told as it is. A rule
whose rows say what is read names a module only for what it finds besides.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, partial
from importlib import import_module
from typing import Any

from ...stdlib.rows import Row, read_rows
from ..judging.figure_rule import figure_check, told
from ..judging.rule import Check, Level, Mend, Rule, Verdict

__all__ = ["Check", "Mend", "Rule", "Verdict", "all_rules", "one_rule", "phases_of", "rule_names"]

# In which folders the rules of a phase stand.
FOLDERS = {"plan": ("",), "metal": ("", "metal"), "cast": ("cast",)}


@cache
def all_rules(phase: str | None = None) -> Mapping[str, Rule]:
    """Every rule by name, in alphabetical order; of one ``phase`` ("plan", "metal", "cast"), those that
    may check in it, the others not loaded."""
    wanted = FOLDERS.get(phase or "")
    return {name: _load(row) for name, row in _rows().items() if wanted is None or _folder(row) in wanted}


def one_rule(name: str) -> Rule | None:
    """The rule called ``name``, the others not loaded; None if there is none."""
    row = _rows().get(name)
    return None if row is None else _load(row)


def phases_of(name: str) -> tuple[str, ...]:
    """In which phases the rule called ``name`` may check; () if there is none."""
    row = _rows().get(name)
    if row is None:
        return ()
    if folder := _folder(row):
        return (folder,)
    return tuple(phase for phase in FOLDERS if _load(row).checks(phase))


def rule_names() -> tuple[str, ...]:
    """The names of all rules, without loading them."""
    return tuple(_rows())


def _load(row: Row) -> Rule:
    """The rule of a row, with its checks."""
    name = row["rule"]
    found: Any = import_module(f".{row['where']}", __name__) if row["where"] else None
    own = name.replace("-", "_")
    first = getattr(found, own, None) or getattr(found, "check", None)
    ahead, on_metal = (
        partial(told, name, one) if one else None
        for part in ("ahead", "on_metal")
        for one in [getattr(found, f"{own}_{part}", None) or getattr(found, part, None)]
    )
    return Rule(
        name, row["title"], _folder(row) or ("metal" if ahead else "plan"), Level(row["level"]), row["why"],
        row["remedy"], row["source"], figure_check(name, first), on_metal, ahead,
        advice=row["advice"] == "yes", answer=row["answer"],
    )  # fmt: skip


def _folder(row: Row) -> str:
    """The folder of a rule's module, "" where it looks at the plan."""
    return row["where"].rpartition(".")[0]


@cache
def _rows() -> Mapping[str, Row]:
    return {row["rule"]: row for row in read_rows("rules")}
