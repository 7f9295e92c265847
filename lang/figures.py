"""How names, figures, sizes, spots and runs get their values."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from . import measures, tree
from .reckoner import PLAIN_VALUES, Reckoner, Way
from .scope import Absent, Scope
from .shown import quantity, value_name
from .values import BROKEN, LENGTH, NUMBER, Bare, Broken, Point, Quantity, Sequence, Size, Text


def _text(reckoner: Reckoner, node: tree.Quoted, scope: Scope) -> Any:
    return Text(node.text)


def _paren(reckoner: Reckoner, node: tree.Paren, scope: Scope) -> Any:
    return reckoner.value(node.inner, scope)


def _name(reckoner: Reckoner, node: tree.Name, scope: Scope) -> Any:
    value = scope.find(node.name)
    if value is None:
        # A name unknown to resolve.py has been reported there.
        return Bare(node.name) if node.name in reckoner.choices else BROKEN
    if isinstance(value, Absent):
        return reckoner.fault(
            "not-given", f"{node.name} was not given and has no default", node.span,
            f"ask first: when given({node.name}); or give it a default in its takes line",
        )
    return value


def _number(reckoner: Reckoner, node: tree.Number, scope: Scope) -> Any:
    if node.unit is None:
        return Quantity(node.value)
    return reckoner.with_unit(node.value, node.unit, node.span)


def _minus(reckoner: Reckoner, node: tree.Minus, scope: Scope) -> Any:
    value = reckoner.figure(node.inner, scope)
    if isinstance(value, Broken) or node.count % 2 == 0:
        return value
    return measures.negative(value)


def _arithmetic(reckoner: Reckoner, node: tree.Arithmetic, scope: Scope) -> Any:
    total = reckoner.value(node.members[0], scope)
    if type(total) is not Quantity:
        opaque = not isinstance(total, PLAIN_VALUES) and not isinstance(total, Broken)
        if opaque and not set(node.operators) - set("+-"):
            return _joined(reckoner, node, total, scope)
        total = reckoner.as_figure(total, node.members[0])
    for operator, member in zip(node.operators, node.members[1:], strict=True):
        value = reckoner.figure(member, scope)
        if isinstance(total, Broken) or isinstance(value, Broken):
            total = BROKEN
            continue
        if operator in "+-":
            result, trouble = measures.add(total, value, 1.0 if operator == "+" else -1.0)
        elif operator == "*":
            result, trouble = measures.multiply(total, value)
        else:
            result, trouble = measures.divide(total, value)
        if trouble is not None:
            # One fault a chain: what follows rests on a figure that is not there.
            span = member.span if trouble.code == "divided-by-zero" else node.span
            return reckoner.trouble(trouble, span)
        assert result is not None
        total = result
    return total


def _joined(reckoner: Reckoner, node: tree.Arithmetic, total: Any, scope: Scope) -> Any:
    """Parts, stones or places put together; closed lines put together and taken from one another."""
    for operator, member in zip(node.operators, node.members[1:], strict=True):
        value = reckoner.value(member, scope)
        if isinstance(value, Broken):
            return value
        combined = None
        if reckoner.bench is not None and not isinstance(value, PLAIN_VALUES):
            combined = reckoner.bench.combined(total, operator, value)
        if combined is None:
            what = f"{reckoner.describe(total)} and {reckoner.describe(value)}"
            return reckoner.fault(
                "wrong-kind",
                f"these two do not go together: {what}",
                node.span,
                "join stones and stones, parts and parts, or flat closed paths in one plane: rim of a + "
                "rim of b",
            )
        total = combined
    return total


# --- sizes, spots, runs: a unit at the end serves the bare numbers before it


def _members(
    reckoner: Reckoner, nodes: tuple[tree.Expression, ...], scope: Scope, unit: str | None = None,
) -> list[Any]:
    """Their values; a unit at the end, or after them (``unit``), serves the bare numbers before it."""
    unit = trailing_unit(nodes[-1]) or unit
    values = []
    for node in nodes:
        value = reckoner.value(node, scope)
        if unit is not None and isinstance(value, Quantity) and is_bare(node):
            sign = -1.0 if value.value < 0 else 1.0
            value = reckoner.with_unit(abs(value.value), unit, node.span)
            if sign < 0 and isinstance(value, Quantity):
                value = measures.negative(value)
        values.append(value)
    return values


def _figures(
    reckoner: Reckoner, nodes: tuple[tree.Expression, ...], scope: Scope, what: str, unit: str | None = None,
) -> tuple[Quantity, ...] | None:
    values = _members(reckoner, nodes, scope, unit)
    good = True
    for node, value in zip(nodes, values, strict=True):
        if not isinstance(value, Quantity):
            good = False
            if not isinstance(value, Broken):
                reckoner.fault(
                    "wrong-kind", f"{what} is made of figures, not {reckoner.describe(value)}", node.span,
                )
    return tuple(values) if good else None


def _sized(reckoner: Reckoner, node: tree.Sized, scope: Scope) -> Any:
    parts = _figures(reckoner, node.parts, scope, "a size")
    if parts is None:
        return BROKEN
    last = node.parts[-1]
    if (
        isinstance(last, tree.Number)
        and last.unit is None
        and parts[-1].value
        and any(part.dimension == LENGTH for part in parts)
    ):
        return reckoner.fault(
            "unit-missing", "the unit of a size stands after its last figure, for all of them", last.span,
            f"write {last.text} mm",
        )
    return Size(parts)


def _spot(reckoner: Reckoner, node: tree.Spot, scope: Scope, unit: str | None = None) -> Any:
    if len(node.parts) > 3:
        return reckoner.fault(
            "spot-shape", "a spot has two or three figures", node.span,
            "right, up, and if wanted out: (1, 2, 0.5 mm)", seen=str(len(node.parts)), limit="2 or 3",
        )
    parts = _figures(reckoner, node.parts, scope, "a spot", unit)
    if parts is None:
        return BROKEN
    for part, member in zip(node.parts, parts, strict=True):
        if member.dimension == NUMBER and (member.value != 0 or member.share):
            return reckoner.fault(
                "unit-missing", f"a spot is made of lengths, not {value_name(member)}", part.span,
                f"write {quantity(member)} mm" if is_bare(part) else "multiply it by 1 mm",
            )
        if member.dimension not in (LENGTH, NUMBER):
            return reckoner.fault(
                "wrong-kind", f"a spot is made of lengths, not {value_name(member)}", part.span,
            )
    return Point(tuple(Quantity(part.value, LENGTH) for part in parts))


def _run(reckoner: Reckoner, node: tree.Run, scope: Scope) -> Any:
    last = node.members[-1]
    if isinstance(last, tree.Spot):
        end = last.parts[-1]
        unit = trailing_unit(end)
        if unit is None and is_bare(end) and any(_lacks_unit(one) for one in node.members):
            said = reckoner.figure(end, scope)
            return reckoner.fault(
                "unit-missing", "the unit of a run of spots stands after its last figure, for all of them",
                end.span, None if isinstance(said, Broken) else f"write {quantity(said)} mm",
            )
        values = [
            _spot(reckoner, one, scope, unit)
            if isinstance(one, tree.Spot)
            else reckoner.value(one, scope)
            for one in node.members
        ]
    else:
        values = _members(reckoner, node.members, scope)
    if any(isinstance(value, Broken) for value in values):
        return BROKEN
    return Sequence(tuple(values), node.joints)


def _lacks_unit(node: tree.Expression) -> bool:
    """Whether a member is a spot with bare numbers, other than 0, that no unit of its own serves."""
    if not isinstance(node, tree.Spot) or trailing_unit(node.parts[-1]) is not None:
        return False
    bare = (part for part in node.parts if is_bare(part))
    return any(not (isinstance(part, tree.Number) and part.value == 0) for part in bare)


def trailing_unit(node: tree.Expression) -> str | None:
    """The unit written at the very end of a member, if there is one."""
    if isinstance(node, tree.Number):
        return node.unit
    if isinstance(node, tree.Minus):
        return trailing_unit(node.inner)
    return None


def is_bare(node: tree.Expression) -> bool:
    """Whether a member is written in bare numbers alone, so that a later unit can serve it."""
    match node:
        case tree.Number():
            return node.unit is None
        case tree.Minus() | tree.Paren():
            return is_bare(node.inner)
        case tree.Arithmetic():
            return all(is_bare(member) for member in node.members)
    return False


FIGURES: Mapping[type, Way] = MappingProxyType(
    {
        tree.Name: _name,
        tree.Number: _number,
        tree.Quoted: _text,
        tree.Paren: _paren,
        tree.Minus: _minus,
        tree.Arithmetic: _arithmetic,
        tree.Sized: _sized,
        tree.Spot: _spot,
        tree.Run: _run,
    }
)
