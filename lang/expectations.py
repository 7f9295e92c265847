"""`expect` lines: figures that have to hold, told at the user's own line where they do not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from . import tree
from .faults import Fault, Span
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .shown import apart, quantity
from .values import ANGLE, LENGTH, MASS, NUMBER, Quantity

_LIMITS = {"<": "less than", ">": "more than", "<=": "at most", ">=": "at least"}
NOTHING = 1e-9  # of the limit, what is left over of a sum that comes to nothing
FIGURE = re.compile(r"\{([a-z][a-z0-9-]*)\}")


def figures_in(text: tree.Quoted) -> Iterator[tree.Name]:
    """The figures that a text of an `expect` line shows: the names it has in braces."""
    yield from (tree.Name(found, text.span) for found in FIGURE.findall(text.text))


class Expectations:
    """Tests `expect` lines."""

    def __init__(self, reckoner: Reckoner, report: Report) -> None:
        self._reckoner = reckoner
        self._report = report

    def expect(self, line: tree.Expect, scope: Scope) -> object:
        """Tell a fault if the test fails; BROKEN if that cannot be told."""
        outcome = self._reckoner.test(line.test, scope)
        if outcome is not False:
            return outcome
        texts = {
            clause.key.name: self._filled(clause.value, scope)
            for clause in line.clauses
            if isinstance(clause.value, tree.Quoted)
        }
        seen, limit = self._sides(line.test, scope)
        span, also = line.span, tuple[tuple[Span, str], ...]()
        if self._report.trail:
            span = self._clause_tested(line.test) or self._report.trail[0]
            also = (line.span, "expected here"),
        message = texts.get("else", "not as expected")
        self._report.tell(
            Fault("expectation", message, span, seen=seen, limit=limit, also=also, remedy=texts.get("try"))
        )
        return outcome

    def _filled(self, text: tree.Quoted, scope: Scope) -> str:
        """A text with the figures that stand for the names it has in braces."""
        said = {one.name: self._reckoner.value(one, scope) for one in figures_in(text)}
        shown = {name: quantity(one, 2) for name, one in said.items() if isinstance(one, Quantity)}
        return FIGURE.sub(lambda found: shown.get(found[1], "?"), text.text)

    def _sides(self, test: tree.Expression, scope: Scope) -> tuple[str | None, str | None]:
        """The figure seen and the limit, where the test is one comparison."""
        if not isinstance(test, tree.Compare):
            return None, None
        left = self._reckoner.value(test.left, scope)
        right = self._reckoner.value(test.right, scope)
        if not isinstance(left, Quantity) or not isinstance(right, Quantity):
            return None, None
        if not {left.dimension, right.dimension} <= {LENGTH, ANGLE, MASS, NUMBER}:
            return None, None  # an area of some working out means nothing to a reader
        if abs(left.value) < NOTHING * abs(right.value):
            left = replace(left, value=0.0)
        seen, limit = apart(left, right)
        return seen, f"{_LIMITS.get(test.operator, test.operator)} {limit}"

    def _clause_tested(self, test: tree.Expression) -> Span | None:
        """The clause of the user's own line that the failed test speaks of, if it is plain."""
        if len(self._report.callers) != 1:
            return None
        names = tree.names_in(test)
        line = self._report.callers[0].line
        tested = [clause for clause in line.clauses if clause.key.name in names]
        return tested[0].span if len(tested) == 1 else None
