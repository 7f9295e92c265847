"""Bench rules: one module per rule, found by listing this folder. See model.Rule.

To add a rule: write ``my_rule.py`` here with a ``RULE``; its limits go to
stdlib/tables/limits.tsv.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from functools import cache
from importlib import import_module

from ..judging.rule import Check, Mend, Rule, Verdict

__all__ = ["Check", "Mend", "Rule", "Verdict", "all_rules", "one_rule", "rule_names"]


@cache
def all_rules() -> Mapping[str, Rule]:
    """Every rule by name, in alphabetical order."""
    found: dict[str, Rule] = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(__path__)):
        rule = getattr(import_module(f".{module}", __name__), "RULE", None)
        if rule is not None:
            found[rule.name] = rule
    return dict(sorted(found.items()))


def one_rule(name: str) -> Rule | None:
    """The rule called ``name``, the others not loaded; None if there is none."""
    if name not in rule_names():
        return None
    found: Rule = import_module(f".{name.replace('-', '_')}", __name__).RULE
    return found


@cache
def rule_names() -> tuple[str, ...]:
    """The names of all rules, without loading them (a module is named after its rule)."""
    skipped = {"model", "shown"}
    names = (info.name for info in pkgutil.iter_modules(__path__))
    return tuple(sorted(name.replace("_", "-") for name in names if name not in skipped))
