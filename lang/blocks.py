"""The lines that have others done once, many times or not at all: `each` and `when`."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from . import tree
from .measures import comparable, mismatch, order
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .values import BROKEN, NUMBER, Broken, Quantity

MOST_TURNS = 20_000  # of all each lines together

# Does the lines of a block in order, with the names of a scope.
DoBlock = Callable[[tuple[tree.Line, ...], Scope], None]


class Blocks:
    """Does `each` and `when` lines; ``do`` does the lines inside."""

    def __init__(self, reckoner: Reckoner, report: Report, do: DoBlock) -> None:
        self._reckoner = reckoner
        self._report = report
        self._do = do
        self._turns = 0

    def when(self, line: tree.When, scope: Scope) -> object:
        """The first branch whose test holds; BROKEN, and none done, if one before it cannot be told. What all
        branches name stands for what this one made."""
        known, inner = tree.names_made((line,)), Scope(scope)
        for branch in line.branches:
            outcome: bool | Broken = True
            if branch.test is not None:
                outcome = self._reckoner.test(branch.test, scope)
            if isinstance(outcome, Broken) or outcome:
                break
        if outcome is True:
            self._do(branch.lines, inner)
        for name in known:
            scope.define(name, inner.names.get(name, BROKEN))
        return outcome if isinstance(outcome, Broken) else None

    def each(self, line: tree.Each, scope: Scope) -> object:
        """The lines once per turn; BROKEN if nobody can tell how often."""
        values = self._values(line, scope)
        if isinstance(values, Broken):
            return values
        for value in values:
            self._turns += 1
            if self._turns > MOST_TURNS:
                self._too_many("all each lines together go round too often", line)
            inner = Scope(scope)
            inner.names[line.name.name] = value
            self._do(line.lines, inner)
        return None

    def _values(self, line: tree.Each, scope: Scope) -> Any:
        """What the name of an each stands for, turn by turn."""
        if isinstance(line.things, tree.Spot):  # a list of what stands in it
            values = [self._reckoner.value(part, scope) for part in line.things.parts]
            return next((value for value in values if isinstance(value, Broken)), values)
        if line.things is not None:
            return self._reckoner.spots(line.things, scope)
        assert line.first is not None and line.last is not None
        first = self._reckoner.figure(line.first, scope)
        last = self._reckoner.figure(line.last, scope)
        step: Quantity | Broken = Quantity(1.0)
        if line.step is not None:
            step = self._reckoner.figure(line.step, scope)
        if isinstance(first, Broken) or isinstance(last, Broken) or isinstance(step, Broken):
            return BROKEN
        for other, node in ((last, line.last), (step, line.step or line.last)):
            if not comparable(first, other):
                return self._reckoner.trouble(mismatch("to", first, other), node.span)
        return self._counted(line, first, last, step)

    def _counted(self, line: tree.Each, first: Quantity, last: Quantity, step: Quantity) -> Any:
        """The figures from ``first`` to ``last``."""
        if step.value == 0:
            assert line.step is not None
            return self._reckoner.fault(
                "out-of-range", "a step of zero never gets there", line.step.span, "make it larger than 0",
            )
        turns = (last.value - first.value) / step.value
        near = round(turns)
        count = (near if order(turns, near) == 0 else math.floor(turns)) + 1
        if count + self._turns > MOST_TURNS:
            self._too_many(f"this would take {count:,} turns", line)
        dimension = next((q.dimension for q in (first, last, step) if q.dimension != NUMBER), NUMBER)
        share = first.share or last.share
        return [Quantity(first.value + turn * step.value, dimension, share) for turn in range(max(0, count))]

    def _too_many(self, message: str, line: tree.Each) -> None:
        """Stop the run."""
        remedy = "lay copies out with line, grid, circle or along"
        self._report.enough(message, line.span, MOST_TURNS, remedy)
