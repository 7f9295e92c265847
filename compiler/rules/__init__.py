"""Bench rules: one module per rule, found by listing this folder and those of the later phases. See
judging.rule.Rule.

To add a rule: write ``my_rule.py`` with a function ``check``, here if it looks at the plan (a second one,
``on_metal``, sees the metal too), else in ``metal`` or ``cast``; one of the metal that tells something of the
plan alone has that in ``ahead``, and stands here. What is told of it is a row of stdlib/tables/rules.tsv, its
limits are rows of limits.tsv.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from importlib import import_module

from ...stdlib.rows import Row, read_rows
from ..judging.rule import Check, Level, Mend, Rule, Verdict

__all__ = ["Check", "Mend", "Rule", "Verdict", "all_rules", "one_rule", "phases_of", "rule_names"]

# In which folders the rules of a phase stand.
FOLDERS = {"plan": ("",), "metal": ("", "metal"), "cast": ("cast",)}


@cache
def all_rules(phase: str | None = None) -> Mapping[str, Rule]:
    """Every rule by name, in alphabetical order; of one ``phase`` ("plan", "metal", "cast"), those that
    may check in it, the others not loaded."""
    wanted = FOLDERS.get(phase or "")
    return {
        name: _load(name, module)
        for name, module in _modules().items()
        if wanted is None or module.rpartition(".")[0] in wanted
    }


def one_rule(name: str) -> Rule | None:
    """The rule called ``name``, the others not loaded; None if there is none."""
    module = _modules().get(name)
    return None if module is None else _load(name, module)


def phases_of(name: str) -> tuple[str, ...]:
    """In which phases the rule called ``name`` may check; () if there is none."""
    folder = _modules().get(name, "").rpartition(".")[0]
    if folder:
        return (folder,)
    rule = one_rule(name)
    return () if rule is None else tuple(phase for phase in FOLDERS if rule.checks(phase))


def rule_names() -> tuple[str, ...]:
    """The names of all rules, without loading them (a module is named after its rule)."""
    return tuple(_modules())


def _load(name: str, module: str) -> Rule:
    """The rule of a module and its row."""
    row, found = _rows()[name], import_module(f".{module}", __name__)
    ahead = getattr(found, "ahead", None)
    return Rule(
        name, row["title"], module.rpartition(".")[0] or ("metal" if ahead else "plan"), Level(row["level"]),
        row["why"], row["remedy"], row["source"], found.check, getattr(found, "on_metal", None), ahead,
        advice=row["advice"] == "yes",
    )  # fmt: skip


@cache
def _rows() -> Mapping[str, Row]:
    return {row["rule"]: row for row in read_rows("rules")}


@cache
def _modules() -> Mapping[str, str]:
    """The module of every rule below this folder, by the name of the rule."""
    found = {}
    for folder in ("", "metal", "cast"):
        for file in os.listdir(os.path.join(__path__[0], folder)):  # noqa: PTH118, PTH208
            stem, ending = os.path.splitext(file)  # noqa: PTH122
            if ending == ".py" and not stem.startswith("_"):
                found[stem.replace("_", "-")] = f"{folder}.{stem}".strip(".")
    return dict(sorted(found.items()))
