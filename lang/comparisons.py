"""How tests get their outcomes: comparisons, not, and, or."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from . import measures, tree
from .reckoner import Reckoner, Way
from .scope import Scope
from .values import BROKEN, Bare, Broken, Quantity, Text, Truth


def _compare(reckoner: Reckoner, node: tree.Compare, scope: Scope) -> Any:
    left, right = reckoner.value(node.left, scope), reckoner.value(node.right, scope)
    if isinstance(left, Broken) or isinstance(right, Broken):
        return BROKEN
    if isinstance(left, Quantity) and isinstance(right, Quantity):
        return _compare_figures(reckoner, node, left, right)
    if node.operator in ("is", "is not"):
        same = _same(left, right)
        if same is not None:
            return Truth(same == (node.operator == "is"))
    return reckoner.fault(
        "wrong-kind", f"{reckoner.describe(left)} and {reckoner.describe(right)} cannot be compared",
        node.span,
    )


def _compare_figures(reckoner: Reckoner, node: tree.Compare, left: Quantity, right: Quantity) -> Any:
    if not measures.comparable(left, right):
        return reckoner.trouble(measures.mismatch("against", left, right), node.span)
    order = measures.order(left.value, right.value)
    outcome = {
        "<": order < 0,
        ">": order > 0,
        "<=": order <= 0,
        ">=": order >= 0,
        "is": order == 0,
        "is not": order != 0,
    }
    return Truth(outcome[node.operator])


def _negate(reckoner: Reckoner, node: tree.Negate, scope: Scope) -> Any:
    outcome = reckoner.test(node.inner, scope)
    if isinstance(outcome, Broken):
        return outcome
    return Truth(outcome ^ (node.count % 2 == 1))


def _logic(reckoner: Reckoner, node: tree.Logic, scope: Scope) -> Any:
    """``and`` and ``or`` stop at the first member that decides."""
    decides = node.operator == "or"
    for member in node.members:
        outcome = reckoner.test(member, scope)
        if isinstance(outcome, Broken):
            return outcome
        if outcome is decides:
            return Truth(decides)
    return Truth(not decides)


def _same(left: Any, right: Any) -> bool | None:
    """Whether two values that are not both figures are the same; None if it cannot be asked."""
    if isinstance(left, Text | Bare) and isinstance(right, Text | Bare):
        return _said(left) == _said(right)
    if isinstance(left, Truth) and isinstance(right, Truth):
        return left.yes == right.yes
    return None


def _said(value: Text | Bare) -> str:
    return value.text if isinstance(value, Text) else value.name


TESTS: Mapping[type, Way] = MappingProxyType(
    {tree.Compare: _compare, tree.Negate: _negate, tree.Logic: _logic}
)
