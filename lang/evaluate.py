"""The walk through a checked tree, line by line, with the bench doing the work."""

from __future__ import annotations

import math
from typing import Any

from . import tree
from .faults import Fault, Span
from .measures import comparable, mismatch, order
from .scope import Known, Scope
from .shown import quantity
from .values import BROKEN, NUMBER, Broken, Quantity
from .work import Work

MOST_TURNS = 20_000


class Evaluator(Work):
    """Runs the lines of one piece; see Work for what it is made with."""

    turns = 0  # of all each lines together

    # --- blocks

    def block(self, lines: tuple[tree.Line, ...], scope: Scope, prefix: str) -> None:
        """The lines of a block, in order."""
        for line in lines:
            match line:
                case tree.Feature():
                    self.feature(line, scope, prefix)
                case tree.Measure():
                    self.measure(line, scope)
                case tree.Group():
                    self.group_block(line, scope, prefix)
                case tree.Each():
                    self.each(line, scope, prefix)
                case tree.When():
                    self.when(line, scope, prefix)
                case tree.Expect():
                    self.expect(line, scope)
                case tree.WordBlock():
                    record = self.records.get(line.span)
                    if record is not None:
                        scope.words[line.name.name] = Known(record, line, scope)
                case tree.TakeFrom():
                    scope.words.update(self.take(line))
                case tree.Unread():
                    for name in line.names:
                        scope.names.setdefault(name, BROKEN)
                        if line.names[0] in ("word", "from"):
                            scope.words.setdefault(name, None)
                case _:
                    self.other_line(line, scope)

    def other_line(self, line: tree.Line, scope: Scope) -> None:
        """Lines of the outer block, which piece.py reads."""

    def take(self, line: tree.TakeFrom) -> dict[str, Known | None]:
        """The words a ``from`` line brings; piece.py knows the files."""
        return {name.name: None for name in line.names}

    def measure(self, line: tree.Measure, scope: Scope) -> None:
        """A measure of an inner block; piece.py reads those that can be set."""
        self.define(line.name, self.reckoner.value(line.value, scope), scope)

    def when(self, line: tree.When, scope: Scope, prefix: str) -> None:
        """The first branch whose test holds; none if one before it cannot be told."""
        for branch in line.branches:
            outcome: bool | Broken = True
            if branch.test is not None:
                outcome = self.reckoner.test(branch.test, scope)
            if isinstance(outcome, Broken):
                return
            if outcome:
                self.block(branch.lines, Scope(scope), prefix)
                return

    def each(self, line: tree.Each, scope: Scope, prefix: str) -> None:
        """The lines once per turn."""
        values = self.turns_of(line, scope)
        if isinstance(values, Broken):
            return
        for value in values:
            self.turns += 1
            if self.turns > MOST_TURNS:
                self.enough(
                    "all each lines together take too many turns",
                    line.span,
                    MOST_TURNS,
                    "lay copies out with line, grid, circle or along",
                )
            inner = Scope(scope)
            inner.names[line.name.name] = value
            self.block(line.lines, inner, prefix)

    def turns_of(self, line: tree.Each, scope: Scope) -> Any:
        """What the name of an each stands for, turn by turn."""
        if line.things is not None:
            return self.reckoner.spots(line.things, scope)
        assert line.first is not None and line.last is not None
        first = self.reckoner.figure(line.first, scope)
        last = self.reckoner.figure(line.last, scope)
        step: Quantity | Broken = Quantity(1.0)
        if line.step is not None:
            step = self.reckoner.figure(line.step, scope)
        if isinstance(first, Broken) or isinstance(last, Broken) or isinstance(step, Broken):
            return BROKEN
        for other, node in ((last, line.last), (step, line.step or line.last)):
            if not comparable(first, other):
                return self.reckoner.trouble(mismatch("to", first, other), node.span)
        return self.counted(line, first, last, step)

    def counted(self, line: tree.Each, first: Quantity, last: Quantity, step: Quantity) -> Any:
        """The figures from ``first`` to ``last``."""
        if step.value == 0:
            assert line.step is not None
            self.fault(
                "out-of-range",
                "a step of zero never gets there",
                line.step.span,
                "make it larger than 0",
            )
            return BROKEN
        turns = (last.value - first.value) / step.value
        near = round(turns)
        count = (near if order(turns, near) == 0 else math.floor(turns)) + 1
        if count + self.turns > MOST_TURNS:
            self.enough(
                f"this would take {count:,} turns",
                line.span,
                MOST_TURNS,
                "lay copies out with line, grid, circle or along",
            )
        dimension = next(
            (q.dimension for q in (first, last, step) if q.dimension != NUMBER), NUMBER
        )
        share = first.share or last.share
        return [
            Quantity(first.value + turn * step.value, dimension, share)
            for turn in range(max(0, count))
        ]

    def expect(self, line: tree.Expect, scope: Scope) -> None:
        """A fault at the user's line when the test fails."""
        outcome = self.reckoner.test(line.test, scope)
        if outcome is not False:
            return
        said = {clause.key.name: clause.value for clause in line.clauses}
        message = said.get("else")
        remedy = said.get("try")
        seen, limit = self.sides(line.test, scope)
        span, also = line.span, tuple[tuple[Span, str], ...]()
        if self.trail:
            span = self.said_at(line.test) or self.trail[0]
            also = ((line.span, "expected here"),)
        self.tell(
            Fault(
                "expectation",
                message.text if isinstance(message, tree.Quoted) else "not as expected",
                span,
                seen=seen,
                limit=limit,
                also=also,
                trail=self.trail,
                remedy=remedy.text if isinstance(remedy, tree.Quoted) else None,
            )
        )

    def sides(self, test: tree.Expression, scope: Scope) -> tuple[str | None, str | None]:
        """The figure seen and the limit, where the test is one comparison."""
        if not isinstance(test, tree.Compare):
            return None, None
        left = self.reckoner.value(test.left, scope)
        right = self.reckoner.value(test.right, scope)
        if not isinstance(left, Quantity) or not isinstance(right, Quantity):
            return None, None
        words = {"<": "less than", ">": "more than", "<=": "at most", ">=": "at least"}
        return quantity(left), f"{words.get(test.operator, test.operator)} {quantity(right)}"

    def said_at(self, test: tree.Expression) -> Span | None:
        """The clause of the user's own line that the failed test speaks of, if it is plain."""
        if len(self.callers) != 1:
            return None
        line, _ = self.callers[0]
        names = tree.names_in(test)
        said = [clause for clause in line.clauses if clause.key.name in names]
        return said[0].span if len(said) == 1 else None
