"""The value of an expression: names looked up, figures reckoned, sizes and tests made."""

from __future__ import annotations

from collections.abc import Callable, Set
from typing import Any

from . import measures, tree
from .faults import Fault, Span
from .measures import Trouble
from .scope import Absent, Scope
from .shown import value_name
from .values import (
    BROKEN,
    LENGTH,
    NUMBER,
    Bare,
    Broken,
    Point,
    Quantity,
    Sequence,
    Size,
    Text,
    Truth,
)

MOST_STEPS = 1_000_000  # parts of expressions reckoned in one run: about two seconds
PLAIN_VALUES = (Quantity, Text, Bare, Truth, Size, Point, Sequence)


class Enough(Exception):
    """Work stops here: a cap was met and has been reported. Never leaves the room."""


class Figures:
    """Reckons figures and tests; the rest is in questions.py.

    ``bench`` may be None where only figures can stand (bounds of a word's keys). ``tell`` takes
    each fault; a value that could not be had is BROKEN, and whatever holds it stays silent.
    ``choices`` are the bare names that stand for themselves.
    """

    def __init__(
        self, bench: Any, choices: Set[str], tell: Callable[[Fault], None]
    ) -> None:
        self.bench = bench
        self.choices = choices
        self.tell = tell
        self.steps = 0
        self._named: dict[
            int, tuple[str, Any]
        ] = {}  # holds the thing, so that its id stays its
        self.ways: dict[type, Callable[[Any, Scope], Any]] = {
            tree.Name: self._name,
            tree.Number: self._number,
            tree.Quoted: lambda node, scope: Text(node.text),
            tree.Paren: lambda node, scope: self.value(node.inner, scope),
            tree.Spot: self._spot,
            tree.Minus: self._minus,
            tree.Arithmetic: self._arithmetic,
            tree.Sized: self._sized,
            tree.Compare: self._compare,
            tree.Negate: self._negate,
            tree.Logic: self._logic,
            tree.Run: self._run,
        }

    # --- telling

    def fault(
        self, code: str, message: str, span: Span, remedy: str | None = None, **more: Any
    ) -> Broken:
        """Tell a fault; the value is BROKEN."""
        self.tell(Fault(code, message, span, remedy=remedy, **more))
        return BROKEN

    def trouble(self, trouble: Trouble, span: Span) -> Broken:
        """Tell what arithmetic found."""
        return self.fault(trouble.code, trouble.message, span, trouble.remedy)

    def describe(self, value: Any) -> str:
        """A few words on any value."""
        known = value_name(value)
        if known is not None:
            return known
        return str(self.bench.describe(value)) if self.bench is not None else "a thing"

    def name_thing(self, thing: Any, name: str) -> None:
        """Keep the full name of a feature, unless it has one."""
        self._named.setdefault(id(thing), (name, thing))

    def name_of(self, thing: Any) -> str | None:
        """The full name of a feature."""
        return self._named.get(id(thing), (None, None))[0]

    # --- values

    def value(self, node: tree.Expression, scope: Scope) -> Any:
        """The value of ``node``, or BROKEN."""
        self.steps += 1
        if self.steps > MOST_STEPS:
            self.fault(
                "too-much-work",
                "reckoning all figures of this piece takes too long",
                node.span,
                "do what repeats in fewer turns",
            )
            raise Enough
        return self.ways[type(node)](node, scope)

    def figure(self, node: tree.Expression, scope: Scope) -> Quantity | Broken:
        """The value of ``node`` if it is a figure."""
        value = self.value(node, scope)
        if isinstance(value, Quantity | Broken):
            return value
        return self.fault(
            "wrong-kind", f"a figure is due here, not {self.describe(value)}", node.span
        )

    def test(self, node: tree.Expression, scope: Scope) -> bool | Broken:
        """The outcome of the test ``node``."""
        value = self.value(node, scope)
        if isinstance(value, Truth):
            return value.yes
        if isinstance(value, Broken):
            return value
        return self.fault(
            "wrong-kind",
            f"a test is due here, not {self.describe(value)}",
            node.span,
            "compare it with something: a < b, a is b",
        )

    def _name(self, node: tree.Name, scope: Scope) -> Any:
        value = scope.find(node.name)
        if value is None:
            # A name unknown to resolve.py has been reported there.
            return Bare(node.name) if node.name in self.choices else BROKEN
        if isinstance(value, Absent):
            return self.fault(
                "not-given",
                f"{node.name} was not given and has no default",
                node.span,
                f"ask first: when given({node.name}); or give it a default in its takes line",
            )
        return value

    def _number(self, node: tree.Number, scope: Scope) -> Any:
        if node.unit is None:
            return Quantity(node.value)
        return self.with_unit(node.value, node.unit, node.span)

    def with_unit(self, value: float, unit: str, span: Span) -> Any:
        """A number with a unit; BROKEN for a unit reported by the parser."""
        if unit not in ("%", "ga") and unit not in measures.UNITS:
            return BROKEN
        figure, trouble = measures.with_unit(value, unit)
        return figure if trouble is None else self.trouble(trouble, span)

    def _minus(self, node: tree.Minus, scope: Scope) -> Any:
        value = self.figure(node.inner, scope)
        if isinstance(value, Broken) or node.count % 2 == 0:
            return value
        return measures.negative(value)

    def _arithmetic(self, node: tree.Arithmetic, scope: Scope) -> Any:
        total = self.figure(node.members[0], scope)
        for operator, member in zip(node.operators, node.members[1:], strict=True):
            value = self.figure(member, scope)
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
                return self.trouble(trouble, span)
            assert result is not None
            total = result
        return total

    # --- sizes, spots, runs: a unit at the end serves the bare numbers before it

    def _members(self, nodes: tuple[tree.Expression, ...], scope: Scope) -> list[Any]:
        unit = trailing_unit(nodes[-1])
        values = []
        for node in nodes:
            value = self.value(node, scope)
            if unit is not None and isinstance(value, Quantity) and is_bare(node):
                sign = -1.0 if value.value < 0 else 1.0
                value = self.with_unit(abs(value.value), unit, node.span)
                if sign < 0 and isinstance(value, Quantity):
                    value = measures.negative(value)
            values.append(value)
        return values

    def _figures(
        self, nodes: tuple[tree.Expression, ...], scope: Scope, what: str
    ) -> tuple[Quantity, ...] | None:
        values = self._members(nodes, scope)
        good = True
        for node, value in zip(nodes, values, strict=True):
            if not isinstance(value, Quantity):
                good = False
                if not isinstance(value, Broken):
                    self.fault(
                        "wrong-kind",
                        f"{what} is made of figures, not {self.describe(value)}",
                        node.span,
                    )
        return tuple(values) if good else None

    def _sized(self, node: tree.Sized, scope: Scope) -> Any:
        parts = self._figures(node.parts, scope, "a size")
        return BROKEN if parts is None else Size(parts)

    def _spot(self, node: tree.Spot, scope: Scope) -> Any:
        if len(node.parts) > 3:
            return self.fault(
                "spot-shape",
                "a spot has two or three members",
                node.span,
                "right, up, and if wanted out: (1, 2, 0.5 mm)",
                seen=str(len(node.parts)),
                limit="2 or 3",
            )
        parts = self._figures(node.parts, scope, "a spot")
        if parts is None:
            return BROKEN
        for part, member in zip(node.parts, parts, strict=True):
            if member.dimension == NUMBER and (member.value != 0 or member.share):
                return self.fault(
                    "unit-missing",
                    f"a spot is made of lengths, not {value_name(member)}",
                    part.span,
                    "add mm after the last member: (1, 2 mm)",
                )
            if member.dimension not in (LENGTH, NUMBER):
                return self.fault(
                    "wrong-kind",
                    f"a spot is made of lengths, not {value_name(member)}",
                    part.span,
                )
        return Point(tuple(Quantity(part.value, LENGTH) for part in parts))

    def _run(self, node: tree.Run, scope: Scope) -> Any:
        values = self._members(node.members, scope)
        if any(isinstance(value, Broken) for value in values):
            return BROKEN
        return Sequence(tuple(values), node.joints)

    # --- tests

    def _compare(self, node: tree.Compare, scope: Scope) -> Any:
        left, right = self.value(node.left, scope), self.value(node.right, scope)
        if isinstance(left, Broken) or isinstance(right, Broken):
            return BROKEN
        if isinstance(left, Quantity) and isinstance(right, Quantity):
            return self._compare_figures(node, left, right)
        if node.operator in ("is", "is not"):
            same = _same(left, right)
            if same is not None:
                return Truth(same == (node.operator == "is"))
        return self.fault(
            "wrong-kind",
            f"{self.describe(left)} and {self.describe(right)} cannot be compared",
            node.span,
        )

    def _compare_figures(self, node: tree.Compare, left: Quantity, right: Quantity) -> Any:
        if not measures.comparable(left, right):
            return self.trouble(measures.mismatch("against", left, right), node.span)
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

    def _negate(self, node: tree.Negate, scope: Scope) -> Any:
        outcome = self.test(node.inner, scope)
        if isinstance(outcome, Broken):
            return outcome
        return Truth(outcome ^ (node.count % 2 == 1))

    def _logic(self, node: tree.Logic, scope: Scope) -> Any:
        """``and`` and ``or`` stop at the first member that decides."""
        decides = node.operator == "or"
        for member in node.members:
            outcome = self.test(member, scope)
            if isinstance(outcome, Broken):
                return outcome
            if outcome is decides:
                return Truth(decides)
        return Truth(not decides)


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


def _same(left: Any, right: Any) -> bool | None:
    """Whether two values that are not both figures are the same; None if it cannot be asked."""
    if isinstance(left, Text | Bare) and isinstance(right, Text | Bare):
        return _said(left) == _said(right)
    if isinstance(left, Truth) and isinstance(right, Truth):
        return left.yes == right.yes
    return None


def _said(value: Text | Bare) -> str:
    return value.text if isinstance(value, Text) else value.name
